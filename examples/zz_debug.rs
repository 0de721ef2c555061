use slantwise::*;
fn main() {
    let path = std::env::args().nth(1).unwrap();
    let src = source::Source::new("x", std::fs::read_to_string(&path).unwrap());
    let (p, _) = pattern::parse(&src);
    let (piece, _) = stitches::work(&p);
    let mut input = material::MaterialInput::of(piece.craft);
    input.gauges.clear();
    let m = material::Material::resolve(&input).unwrap();
    let hand = material::Hand::even();
    let sizes = fabric::Sizes::new(&piece, &m, &hand);
    let f = fabric::Fabric::new(&piece, &sizes);
    println!(
        "nodes {} quads {} wedges {} polys {} outlines {:?} unplaced {}",
        f.start.len(),
        f.body.quads.len(),
        f.body.wedges.len(),
        f.body.polygons.len(),
        f.outlines.iter().map(|o| o.len()).collect::<Vec<_>>(),
        f.unplaced.len()
    );
    let area = |n: &[u32]| {
        let k = n.len();
        (0..k)
            .map(|i| {
                let (a, b) = (f.start[n[i] as usize], f.start[n[(i + 1) % k] as usize]);
                (a[0] * b[1] - a[1] * b[0]) / 2.0
            })
            .sum::<f64>()
    };
    for (q, t) in f.body.quads.iter().zip(&f.quad_tags) {
        let a = area(&q.nodes);
        let r = q.rest;
        let ra = {
            let k = 4;
            (0..k)
                .map(|i| {
                    let (a, b) = (r[i], r[(i + 1) % k]);
                    (a[0] * b[1] - a[1] * b[0]) / 2.0
                })
                .sum::<f64>()
        };
        if a <= 0.0 || ra <= 0.0 {
            println!(
                "quad row {} {:?} area {a} rest {ra} {:?} {:?}",
                piece.rows[t.row.0 as usize].label,
                q.nodes,
                q.rest,
                q.nodes.map(|n| f.start[n as usize])
            );
        }
    }
    for (q, t) in f.body.wedges.iter().zip(&f.wedge_tags) {
        let a = area(&q.nodes);
        if a <= 0.0 {
            println!("wedge row {} area {a} {:?}", piece.rows[t.row.0 as usize].label, q);
        }
    }
    for (q, t) in f.body.polygons.iter().zip(&f.polygon_tags) {
        let a = area(&q.nodes);
        let r = &q.rest;
        let k = r.len();
        let ra = (0..k)
            .map(|i| {
                let (a, b) = (r[i], r[(i + 1) % k]);
                (a[0] * b[1] - a[1] * b[0]) / 2.0
            })
            .sum::<f64>();
        if a <= 0.0 || ra <= 0.0 {
            println!(
                "poly row {} area {a} rest {ra} {:?} {:?}",
                piece.rows[t.row.0 as usize].label,
                q,
                q.nodes.iter().map(|&n| f.start[n as usize]).collect::<Vec<_>>()
            );
        }
    }
    println!("energy at start {}", f.body.energy(&f.start));
    let mut x = f.start.clone();
    let mut sol = mechanics::Solver::<2>::new(&f.body).unwrap();
    let st = mechanics::Settings::default();
    if std::env::args().nth(2).is_some() {
        let r = mechanics::arrange(&f.body, &mut x, 400);
        println!("arranged {r} energy {}", f.body.energy(&x));
    }
    let o = sol.minimise(&mut x, &st, &mut |p| {
        println!("{p:?}");
        std::ops::ControlFlow::Continue(())
    });
    println!("{o:?}");
    for e in f.unplaced.iter().take(5) {
        println!("{:?} {:?}", e, piece.stitch(e.stitch));
    }
}
