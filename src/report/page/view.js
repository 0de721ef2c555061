// The piece on a canvas: turned, zoomed, coloured, and asked stitch by stitch. No library, no network.
(() => {
  'use strict';
  const holder = document.getElementById('piece-data');
  const section = document.getElementById('view');
  const canvas = document.getElementById('piece');
  const pen = canvas && canvas.getContext('2d');
  if (!holder || !pen || !window.Path2D) return;
  const about = JSON.parse(holder.textContent);
  section.hidden = false;

  // Numbers lie column by column: the Rust side writes them in this order.
  const text = atob(about.cells);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  const all = new DataView(bytes.buffer);
  const n = about.count;
  let read = 0;
  const column = (Kind, length) => {
    const out = new Kind(length);
    for (let i = 0; i < length; i++, read += Kind.BYTES_PER_ELEMENT) {
      out[i] = Kind === Uint8Array ? bytes[read]
        : Kind === Int16Array ? all.getInt16(read, true) : all.getUint16(read, true);
    }
    return out;
  };
  const sides = column(Uint8Array, n);
  const kind = column(Uint8Array, n);
  const yarn = column(Uint8Array, n);
  const row = column(Uint16Array, n);
  const words = column(Uint16Array, n);
  const along = column(Int16Array, n);
  const up = column(Int16Array, n);
  const shear = column(Int16Array, n);
  const first = new Uint32Array(n + 1);
  for (let i = 0; i < n; i++) first[i + 1] = first[i] + sides[i];
  const packed = column(Uint16Array, 2 * first[n]);
  const at = new Float32Array(packed.length);
  for (let i = 0; i < at.length; i++) at[i] = about.low[i % 2] + packed[i] * about.step[i % 2];
  const mid = new Float32Array(2 * n);
  for (let i = 0; i < n; i++) {
    for (let k = first[i]; k < first[i + 1]; k++) {
      mid[2 * i] += at[2 * k] / sides[i];
      mid[2 * i + 1] += at[2 * k + 1] / sides[i];
    }
  }

  const box = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < at.length; i += 2) {
    box[0] = Math.min(box[0], at[i]); box[1] = Math.min(box[1], at[i + 1]);
    box[2] = Math.max(box[2], at[i]); box[3] = Math.max(box[3], at[i + 1]);
  }

  // Which stitch lies under a point: squares of the piece, each with the cells that reach into it.
  const side = Math.max(Math.sqrt((box[2] - box[0]) * (box[3] - box[1]) / Math.max(n, 1)) * 2, 1e-6);
  const across = Math.floor((box[2] - box[0]) / side) + 1;
  const squares = new Map();
  const reach = (i) => {
    const r = [Infinity, Infinity, -Infinity, -Infinity];
    for (let k = first[i]; k < first[i + 1]; k++) {
      r[0] = Math.min(r[0], at[2 * k]); r[1] = Math.min(r[1], at[2 * k + 1]);
      r[2] = Math.max(r[2], at[2 * k]); r[3] = Math.max(r[3], at[2 * k + 1]);
    }
    return r;
  };
  const square = (v, axis) => Math.floor((v - box[axis]) / side);
  for (let i = 0; i < n; i++) {
    const r = reach(i);
    for (let y = square(r[1], 1); y <= square(r[3], 1); y++) {
      for (let x = square(r[0], 0); x <= square(r[2], 0); x++) {
        const key = y * across + x;
        if (!squares.has(key)) squares.set(key, []);
        squares.get(key).push(i);
      }
    }
  }
  const holds = (i, x, y) => {
    let inside = false;
    for (let k = first[i], j = first[i + 1] - 1; k < first[i + 1]; j = k++) {
      const [x0, y0, x1, y1] = [at[2 * k], at[2 * k + 1], at[2 * j], at[2 * j + 1]];
      if ((y0 > y) !== (y1 > y) && x < (x1 - x0) * (y - y0) / (y1 - y0) + x0) inside = !inside;
    }
    return inside;
  };
  const find = (x, y) => {
    const here = squares.get(square(y, 1) * across + square(x, 0));
    const found = here && here.find((i) => holds(i, x, y));
    return found === undefined ? -1 : found;
  };

  // Colour.
  const mix = (a, b, t) => a.map((v, k) => Math.round(v + (b[k] - v) * t));
  const css = (c) => `rgb(${c[0]},${c[1]},${c[2]})`;
  const steps = about.ramp.length;
  const level = (values, full) => (i) => {
    const share = values[i] / 1e4 / full;
    return Math.min(steps - 1, Math.max(0, Math.floor((share + 1) / 2 * steps)));
  };
  const lastRow = row.reduce((a, b) => Math.max(a, b), 1);
  const rowTint = (r) => {
    const tint = mix([16, 70, 88], [236, 206, 142], r / lastRow);
    return css(r % 2 ? mix(tint, [255, 255, 255], 0.28) : tint);
  };
  const tall = about.heights.filter((h) => h > 0);
  const [lowest, highest] = [Math.min(...tall), Math.max(...tall)];
  const heightTint = (r) => {
    const share = highest > lowest ? (about.heights[r] - lowest) / (highest - lowest) : 0.5;
    return about.ramp[Math.min(steps - 1, Math.max(0, Math.floor(share * steps)))];
  };
  const modes = {
    along: { of: level(along, about.stretch), tint: (v) => about.ramp[v] },
    up: { of: level(up, about.stretch), tint: (v) => about.ramp[v] },
    shear: { of: level(shear, about.shear), tint: (v) => about.ramp[v] },
    height: { of: (i) => row[i], tint: heightTint },
    row: { of: (i) => row[i], tint: rowTint },
    yarn: { of: (i) => yarn[i], tint: (v) => about.yarnTints[v] || '#b0b4b8' },
    kind: { of: (i) => kind[i], tint: (v) => about.kindTints[v % about.kindTints.length] },
  };

  const trace = (path, i) => {
    for (let k = first[i]; k < first[i + 1]; k++) {
      if (k === first[i]) path.moveTo(at[2 * k], at[2 * k + 1]);
      else path.lineTo(at[2 * k], at[2 * k + 1]);
    }
    path.closePath();
  };
  // Cells in bands of rows, so that those out of sight need not be drawn.
  const BAND = 12;
  let bands = [];
  const sort = (mode) => {
    const sorted = new Map();
    for (let i = 0; i < n; i++) {
      const b = Math.floor(row[i] / BAND);
      if (!sorted.has(b)) sorted.set(b, { box: [Infinity, Infinity, -Infinity, -Infinity], fills: new Map(), edges: new Path2D(), cells: 0 });
      const band = sorted.get(b);
      const value = mode.of(i);
      if (!band.fills.has(value)) band.fills.set(value, new Path2D());
      trace(band.fills.get(value), i);
      trace(band.edges, i);
      band.cells += 1;
      const r = reach(i);
      band.box = [Math.min(band.box[0], r[0]), Math.min(band.box[1], r[1]), Math.max(band.box[2], r[2]), Math.max(band.box[3], r[3])];
    }
    bands = [...sorted.values()].map((band) => ({
      ...band, fills: [...band.fills].map(([value, path]) => [mode.tint(value), path]),
    }));
  };

  // Where the eye is: piece point in the middle, pixels a millimetre, turn, tilt away from the viewer.
  const eye = { x: 0, y: 0, zoom: 1, turn: 0, tilt: 0 };
  let size = [1, 1];
  const flat = () => Math.cos(eye.tilt);
  const toScreen = (x, y) => {
    const [c, s, dx, dy] = [Math.cos(eye.turn), Math.sin(eye.turn), x - eye.x, y - eye.y];
    return [size[0] / 2 + eye.zoom * (c * dx + s * dy), size[1] / 2 - eye.zoom * flat() * (c * dy - s * dx)];
  };
  const toPiece = (px, py) => {
    const [c, s] = [Math.cos(eye.turn), Math.sin(eye.turn)];
    const [u, v] = [(px - size[0] / 2) / eye.zoom, -(py - size[1] / 2) / eye.zoom / flat()];
    return [eye.x + c * u - s * v, eye.y + s * u + c * v];
  };
  const fits = (turn) => {
    const [c, s] = [Math.cos(turn), Math.sin(turn)];
    let [a, b, d, e] = [Infinity, Infinity, -Infinity, -Infinity];
    for (let i = 0; i < n; i++) {
      const [x, y] = [mid[2 * i], mid[2 * i + 1]];
      const [u, v] = [c * x + s * y, c * y - s * x];
      a = Math.min(a, u); b = Math.min(b, v); d = Math.max(d, u); e = Math.max(e, v);
    }
    const [w, h] = [Math.max(d - a, 1), Math.max(e - b, 1)];
    const [u, v] = [(a + d) / 2, (b + e) / 2];
    return { turn, zoom: 0.92 * Math.min(size[0] / w, size[1] / h), x: c * u - s * v, y: s * u + c * v, tilt: 0 };
  };
  const tallAt = (turn, zoom) => {
    const [c, s] = [Math.cos(turn), Math.sin(turn)];
    let [low, high] = [Infinity, -Infinity];
    for (let i = 0; i < n; i++) {
      const v = c * mid[2 * i + 1] - s * mid[2 * i];
      low = Math.min(low, v); high = Math.max(high, v);
    }
    return Math.max(high - low, 0) * zoom;
  };
  const whole = () => {
    const turns = about.elongated ? [Math.PI / 2 - about.slant, -about.slant] : [0];
    Object.assign(eye, turns.map(fits).reduce((a, b) => (b.zoom > a.zoom ? b : a)));
  };

  let chosen = -1;
  const draw = () => {
    const ratio = window.devicePixelRatio || 1;
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.fillStyle = '#fbfaf7';
    pen.fillRect(0, 0, canvas.width, canvas.height);
    const [c, s, z] = [Math.cos(eye.turn), Math.sin(eye.turn), eye.zoom * ratio];
    const k = flat();
    const [a, b, d, e] = [z * c, z * k * s, z * s, -z * k * c];
    pen.setTransform(a, b, d, e, ratio * size[0] / 2 - a * eye.x - d * eye.y, ratio * size[1] / 2 - b * eye.x - e * eye.y);
    const seen = (r) => {
      const p = [[r[0], r[1]], [r[2], r[1]], [r[0], r[3]], [r[2], r[3]]].map(([x, y]) => toScreen(x, y));
      return [0, 1].every((axis) => p.some((q) => q[axis] > 0) && p.some((q) => q[axis] < size[axis]));
    };
    const cell = Math.sqrt((box[2] - box[0]) * (box[3] - box[1]) / Math.max(n, 1)) * eye.zoom;
    let drawn = 0;
    pen.lineJoin = 'round';
    const shown = bands.filter((band) => seen(band.box));
    // A dark line under everything is left standing round the piece and its holes.
    pen.strokeStyle = '#1e262e';
    pen.lineWidth = 2.6 / eye.zoom;
    for (const band of shown) pen.stroke(band.edges);
    for (const band of shown) {
      drawn += band.cells;
      for (const [tint, path] of band.fills) {
        pen.fillStyle = pen.strokeStyle = tint;
        pen.lineWidth = 0.6 / eye.zoom;
        pen.fill(path);
        pen.stroke(path);
      }
      if (cell > 7) {
        pen.strokeStyle = 'rgba(255,255,255,.75)';
        pen.lineWidth = 0.9 / eye.zoom;
        pen.stroke(band.edges);
      }
    }
    if (chosen >= 0) {
      const own = new Path2D();
      const row_of = new Path2D();
      trace(own, chosen);
      for (let i = 0; i < n; i++) if (row[i] === row[chosen]) trace(row_of, i);
      pen.strokeStyle = 'rgba(30,38,46,.75)';
      pen.lineWidth = 1 / eye.zoom;
      pen.stroke(row_of);
      pen.strokeStyle = '#fff';
      pen.lineWidth = 5 / eye.zoom;
      pen.stroke(own);
      pen.strokeStyle = '#9e3e2c';
      pen.lineWidth = 2.5 / eye.zoom;
      pen.stroke(own);
    }
    canvas.dataset.cells = drawn;
    canvas.dataset.zoom = eye.zoom.toFixed(3);
    canvas.dataset.turn = eye.turn.toFixed(3);
  };
  let waiting = false;
  const redraw = () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => { waiting = false; draw(); });
  };

  // What a stitch says.
  const told = document.getElementById('told');
  const invite = told.textContent;
  const signed = (v, digits) => {
    const t = Math.abs(v).toFixed(digits);
    return (Number(t) === 0 ? '' : v < 0 ? '−' : '+') + t;
  };
  const line = (strong, rest) => {
    const p = document.createElement('p');
    const b = document.createElement('b');
    b.textContent = strong;
    p.append(b, rest);
    return p;
  };
  const choose = (i) => {
    if (i === chosen) return;
    chosen = i;
    if (i < 0) {
      told.textContent = invite;
    } else {
      const where = about.rows[row[i]] || `row ${row[i]}`;
      const of = about.yarns[yarn[i]];
      const said = about.words[words[i]];
      told.replaceChildren(
        line(where, `: ${about.kinds[kind[i]] || 'stitch'}${of ? ` in ${of}` : ''}`),
        line('In the pattern: ', said ? `“${said}”` : 'no words of its own'),
        line('Strain: ', `along the rows ${signed(along[i] / 100, 1)} %, up the columns ${signed(up[i] / 100, 1)} %, shear ${signed(shear[i] / 1e4 * 180 / Math.PI, 1)}°`)
      );
      told.dataset.row = row[i];
    }
    redraw();
  };

  const zoom = (by, px = size[0] / 2, py = size[1] / 2) => {
    const [x, y] = toPiece(px, py);
    eye.zoom = Math.min(60, Math.max(0.02, eye.zoom * by));
    const [nx, ny] = toPiece(px, py);
    eye.x += x - nx; eye.y += y - ny;
    redraw();
  };
  const pan = (dx, dy) => {
    const [x0, y0] = toPiece(0, 0);
    const [x1, y1] = toPiece(dx, dy);
    eye.x -= x1 - x0; eye.y -= y1 - y0;
    redraw();
  };
  const turn = (by) => { eye.turn += by; redraw(); };
  const tilt = () => { eye.tilt = eye.tilt > 1 ? 0 : eye.tilt + 0.35; redraw(); };
  const actions = {
    in: () => zoom(1.4), out: () => zoom(1 / 1.4), left: () => turn(-Math.PI / 12),
    right: () => turn(Math.PI / 12), tilt, whole: () => { whole(); redraw(); },
  };
  for (const button of section.querySelectorAll('button[data-do]')) {
    button.addEventListener('click', actions[button.dataset.do]);
  }

  // Mouse and touch: one pointer moves the piece, two stretch and turn it; a tap asks.
  const down = new Map();
  let moved = 0;
  const place = (event) => {
    const r = canvas.getBoundingClientRect();
    return [event.clientX - r.left, event.clientY - r.top];
  };
  canvas.addEventListener('pointerdown', (event) => {
    canvas.setPointerCapture && event.isTrusted && canvas.setPointerCapture(event.pointerId);
    down.set(event.pointerId, place(event));
    moved = down.size > 1 ? 99 : 0;
  });
  canvas.addEventListener('pointermove', (event) => {
    const here = place(event);
    const before = down.get(event.pointerId);
    if (!before) {
      if (event.pointerType !== 'touch') choose(find(...toPiece(...here)));
      return;
    }
    const [dx, dy] = [here[0] - before[0], here[1] - before[1]];
    moved += Math.abs(dx) + Math.abs(dy);
    const other = [...down].find(([id]) => id !== event.pointerId);
    if (other) {
      const [ox, oy] = other[1];
      const [ax, ay, bx, by] = [before[0] - ox, before[1] - oy, here[0] - ox, here[1] - oy];
      zoom(Math.hypot(bx, by) / Math.max(Math.hypot(ax, ay), 1), ox, oy);
      turn(Math.atan2(by, bx) - Math.atan2(ay, ax));
    } else if (event.shiftKey) {
      turn(dx * 0.01);
    } else if (moved > 4) {
      pan(dx, dy);
    }
    down.set(event.pointerId, here);
  });
  const lift = (event) => {
    if (down.delete(event.pointerId) && moved <= 4 && event.type === 'pointerup') {
      choose(find(...toPiece(...place(event))));
    }
  };
  canvas.addEventListener('pointerup', lift);
  canvas.addEventListener('pointercancel', lift);
  canvas.addEventListener('pointerleave', (event) => {
    if (!down.size && event.pointerType === 'mouse' && document.activeElement !== canvas) choose(-1);
  });
  // The wheel scrolls the page until the picture is in use.
  canvas.addEventListener('wheel', (event) => {
    if (!event.ctrlKey && document.activeElement !== canvas) return;
    event.preventDefault();
    zoom(Math.exp(-event.deltaY * 0.0015), ...place(event));
  }, { passive: false });

  // Keyboard: arrows walk from stitch to stitch as they lie on the screen.
  const walk = (dx, dy) => {
    if (chosen < 0) {
      let [best, nearest] = [-1, Infinity];
      for (let i = 0; i < n; i++) {
        const d = Math.hypot(mid[2 * i] - eye.x, mid[2 * i + 1] - eye.y);
        if (d < nearest) [best, nearest] = [i, d];
      }
      choose(best);
      return;
    }
    const from = toScreen(mid[2 * chosen], mid[2 * chosen + 1]);
    const step = Math.max(0.3 * eye.zoom, 0.05);
    for (let k = 1; k < 400; k++) {
      const i = find(...toPiece(from[0] + dx * k * step, from[1] + dy * k * step));
      if (i >= 0 && i !== chosen) {
        choose(i);
        const [x, y] = toScreen(mid[2 * i], mid[2 * i + 1]);
        if (x < 0 || y < 0 || x > size[0] || y > size[1]) pan(size[0] / 2 - x, size[1] / 2 - y);
        return;
      }
    }
  };
  const arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  canvas.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const arrow = arrows[event.key];
    const keys = { '+': 'in', '=': 'in', '-': 'out', '[': 'left', ']': 'right', t: 'tilt', 0: 'whole' };
    if (arrow && event.shiftKey) pan(-40 * arrow[0], -40 * arrow[1]);
    else if (arrow) walk(...arrow);
    else if (keys[event.key]) actions[keys[event.key]]();
    else if (event.key === 'Escape') choose(-1);
    else return;
    event.preventDefault();
  });

  const by = document.getElementById('colour-by');
  const show = () => {
    sort(modes[by.value]);
    for (const legend of section.querySelectorAll('[data-legend]')) {
      legend.hidden = !legend.dataset.legend.split(' ').includes(by.value);
    }
    redraw();
  };
  by.addEventListener('change', show);

  let placed = false;
  const fit = () => {
    const ratio = window.devicePixelRatio || 1;
    const r = canvas.getBoundingClientRect();
    if (!r.width || !r.height) return;
    size = [r.width, r.height];
    if (!placed) {
      // A long piece on a wide screen needs no tall picture.
      whole();
      const top = Math.min(0.62 * window.innerHeight, 460);
      const tall = tallAt(eye.turn, eye.zoom) * 1.15 + 40;
      if (size[0] > 700 && tall < top) {
        canvas.style.height = `${Math.max(tall, 340)}px`;
        size = [r.width, canvas.getBoundingClientRect().height];
      }
    }
    canvas.width = Math.round(r.width * ratio);
    canvas.height = Math.round(size[1] * ratio);
    if (!placed) { placed = true; whole(); }
    draw();
  };
  show();
  fit();
  window.addEventListener('resize', fit);
  window.addEventListener('beforeprint', () => {
    for (const d of document.querySelectorAll('details')) d.open = true;
  });
})();
