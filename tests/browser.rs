//! The report's page in a real browser: it draws, answers the pointer and the keyboard, and complains
//! of nothing. Needs a `chromium` on the PATH; without one the tests say so and pass.

#![expect(clippy::print_stderr, reason = "a skipped test says so")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const NAMES: [&str; 3] = ["chromium", "chromium-browser", "google-chrome"];

fn browser() -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    let mut places = std::env::split_paths(&path);
    places.find_map(|folder| NAMES.iter().map(|n| folder.join(n)).find(|p| p.is_file()))
}

/// Stands before everything of the page: keeps whatever goes wrong. Nobody looks, so frames come by the
/// clock; a browser without a window makes too few.
const LISTENER: &str = "<script>window.wrong=[];\
    window.requestAnimationFrame=f=>setTimeout(()=>f(performance.now()),8);addEventListener('error',e=>wrong.push(e.message));\
    const complain=console.error;console.error=(...a)=>{wrong.push(a.join(' '));complain(...a);};\
    addEventListener('securitypolicyviolation',e=>wrong.push('policy '+e.blockedURI));</script>";

/// Stands after everything: does what a reader does, and writes down what the page said.
const READER: &str = "<script>{
const out={};
const canvas=document.getElementById('piece');
const told=document.getElementById('told');
const box=()=>canvas.getBoundingClientRect();
const send=(type,x,y,more)=>canvas.dispatchEvent(new PointerEvent(type,Object.assign({clientX:box().left+x,
  clientY:box().top+y,pointerId:7,pointerType:'mouse',bubbles:true},more)));
const key=(name,more)=>canvas.dispatchEvent(new KeyboardEvent('keydown',Object.assign({key:name,bubbles:true},more)));
const tints=()=>{const p=canvas.getContext('2d').getImageData(0,0,canvas.width,canvas.height).data;
  const seen=new Set();for(let i=0;i<p.length;i+=4)seen.add(p[i]<<16|p[i+1]<<8|p[i+2]);return seen.size;};
const later=()=>new Promise(done=>setTimeout(done,60));
(async()=>{
  await later();
  out.cells=Number(canvas.dataset.cells);
  out.tints=tints();
  const [w,h]=[box().width,box().height];
  send('pointermove',w/2,h/2);
  out.hover=told.textContent;
  out.hoverRow=Number(told.dataset.row);
  key('ArrowUp');key('ArrowUp');
  out.walked=told.textContent;
  const zoom=Number(canvas.dataset.zoom);
  key('+');key(']');
  await later();
  out.zoomed=Number(canvas.dataset.zoom)/zoom;
  out.turned=Number(canvas.dataset.turn);
  key('0');
  await later();
  out.restored=Number(canvas.dataset.zoom)/zoom;
  key('Escape');
  out.cleared=told.textContent;
  send('pointerdown',w/2,h/2,{pointerType:'touch'});
  send('pointerup',w/2,h/2,{pointerType:'touch'});
  out.tapped=told.textContent;
  out.ways={};
  const by=document.getElementById('colour-by');
  for(const o of by.options){by.value=o.value;by.dispatchEvent(new Event('change'));await later();
    out.ways[o.value]=[Number(canvas.dataset.cells),tints(),
      document.querySelectorAll('[data-legend]:not([hidden])').length];}
  out.wide=document.documentElement.scrollWidth-document.documentElement.clientWidth;
  out.wrong=window.wrong;
  const pre=document.createElement('pre');
  pre.id='outcome';
  pre.textContent=JSON.stringify(out);
  document.body.append(pre);
})();
}</script>";

/// What the page said when read at `width` pixels.
fn read(browser: &Path, page: &str, width: u32) -> serde_json::Value {
    let folder = tempfile::tempdir().unwrap();
    // The listener has to stand before the page's own policy, which would stop nothing else.
    let page = page.replacen("<head>", &format!("<head>{LISTENER}"), 1);
    let page = page.replacen("</body>", &format!("{READER}</body>"), 1);
    let file = folder.path().join("page.html");
    fs::write(&file, page).unwrap();
    let profile = folder.path().join("profile");
    let output = Command::new(browser)
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"])
        .args(["--disable-background-networking", "--disable-component-update", "--disable-sync"])
        .args(["--hide-scrollbars", "--virtual-time-budget=20000", "--dump-dom"])
        .arg(format!("--window-size={width},900"))
        .arg(format!("--user-data-dir={}", profile.display()))
        .arg(format!("file://{}", file.display()))
        .output()
        .unwrap();
    let dom = String::from_utf8_lossy(&output.stdout);
    let outcome =
        dom.split("<pre id=\"outcome\">").nth(1).and_then(|rest| rest.split("</pre>").next());
    let outcome = outcome.unwrap_or_else(|| {
        panic!("the page was not read: {}", String::from_utf8_lossy(&output.stderr))
    });
    let plain = outcome.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
    serde_json::from_str(&plain).unwrap_or_else(|e| panic!("{e}: {plain}"))
}

fn report(example: &str) -> String {
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(example);
    page_of("lay", &example, &[])
}

/// A small piece on the bias, whose hanging and blocking take no time.
const SMALL: &str = "Gauge: 20 sts and 20 rows = 10 cm in sc.\nWith Slate, ch 17.\n\
    Row 1: Sc in 2nd ch from hook and in each ch across. (16 sc)\n\
    Row 2: Ch 1, turn, sc2tog, sc in each st across to last st, 2 sc in last st. (16 sc)\n\
    Row 3: Ch 1, turn, sc in each st across. (16 sc)\nRows 4-21: Rep Rows 2 and 3.\n";

fn small(command: &str, more: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("small.txt");
    fs::write(&file, SMALL).unwrap();
    page_of(command, &file, more)
}

fn page_of(command: &str, file: &Path, more: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("page.html");
    let done = assert_cmd::Command::cargo_bin("slantwise")
        .unwrap()
        .arg(command)
        .arg(file)
        .args(more)
        .args(["--format", "json", "--report"])
        .arg(&page)
        .output()
        .unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    fs::read_to_string(page).unwrap()
}

#[test]
fn the_page_draws_and_answers() {
    let Some(browser) = browser() else {
        eprintln!("skipped: no browser ({} on the PATH)", NAMES.join(", "));
        return;
    };
    let page = report("two-stitch-panel.txt");
    let cells = page.split("\"count\":").nth(1).unwrap().split(',').next().unwrap();
    let cells: u64 = cells.parse().unwrap();
    for width in [1200, 390] {
        let said = read(&browser, &page, width);
        assert_eq!(said["wrong"], serde_json::json!([]), "{said:#}");
        assert_eq!(said["cells"], cells, "every cell is drawn: {said:#}");
        assert!(said["tints"].as_u64() > Some(5), "{said:#}");
        let hover = said["hover"].as_str().unwrap();
        assert!(hover.contains("row") && hover.contains("In the pattern: “"), "{hover}");
        assert!(hover.contains("along the rows") && hover.contains("shear"), "{hover}");
        assert!(said["hoverRow"].as_u64() > Some(0), "{said:#}");
        assert_ne!(said["walked"], said["hover"], "the arrows go to another stitch");
        assert!((said["zoomed"].as_f64().unwrap() - 1.4).abs() < 0.01, "{said:#}");
        assert!((said["restored"].as_f64().unwrap() - 1.0).abs() < 0.01, "{said:#}");
        assert!(said["cleared"].as_str().unwrap().starts_with("Point at a stitch"), "{said:#}");
        assert_eq!(said["tapped"], said["hover"], "a tap tells what hovering does");
        for (way, drawn) in said["ways"].as_object().unwrap() {
            assert_eq!(drawn[0], cells, "{way}: {said:#}");
            assert!(drawn[1].as_u64() > Some(1), "{way}: {said:#}");
            assert_eq!(drawn[2], 1, "one legend for {way}");
        }
        assert_eq!(said["wide"], 0, "nothing sticks out at {width} pixels");
    }
}

/// The piece hung and the piece blocked can be turned and asked like the laid one.
#[test]
fn hung_and_blocked_pieces_are_drawn_and_answer() {
    let Some(browser) = browser() else {
        eprintln!("skipped: no browser ({} on the PATH)", NAMES.join(", "));
        return;
    };
    let hung = small("hang", &["--by", "edge"]);
    let blocked = small("block", &["--allow", "4", "--allow", "8,2"]);
    assert_eq!(blocked.matches("<option>").count(), 5, "washed, two pinned, two released");
    for (page, widths) in [(&hung, [1200, 390]), (&blocked, [1200, 390])] {
        let cells: u64 =
            page.split("\"count\":").nth(1).unwrap().split(',').next().unwrap().parse().unwrap();
        for width in widths {
            let said = read(&browser, page, width);
            assert_eq!(said["wrong"], serde_json::json!([]), "{said:#}");
            assert_eq!(said["cells"], cells, "every cell is drawn: {said:#}");
            let hover = said["hover"].as_str().unwrap();
            assert!(hover.contains("In the pattern: “") && hover.contains("shear"), "{hover}");
            let hangs = hover.contains("below what holds the piece");
            assert_eq!(hangs, page == &hung, "{hover}");
            assert_ne!(said["walked"], said["hover"], "the arrows go to another stitch");
            assert!((said["restored"].as_f64().unwrap() - 1.0).abs() < 0.01, "{said:#}");
            for (way, drawn) in said["ways"].as_object().unwrap() {
                assert_eq!(drawn[0], cells, "{way}: {said:#}");
                assert_eq!(drawn[2], 1, "one legend for {way}");
            }
            assert_eq!(said["wide"], 0, "nothing sticks out at {width} pixels");
        }
    }
}

/// The tests' own eyes: a page whose script fails must not pass.
#[test]
fn a_broken_page_is_noticed() {
    let Some(browser) = browser() else {
        eprintln!("skipped: no browser ({} on the PATH)", NAMES.join(", "));
        return;
    };
    let page = report("two-stitch-panel.txt");
    let broken = page.replacen("let chosen = -1;", "let chosen = -1; console.error('amiss');", 1);
    assert_ne!(page, broken);
    let said = read(&browser, &broken, 1200);
    assert_eq!(said["wrong"], serde_json::json!(["amiss"]));
}
