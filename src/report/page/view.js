// The piece on a canvas: turned, zoomed, coloured, and asked stitch by stitch. No library, no network.
(() => {
  'use strict';
  const holder = document.getElementById('piece-data');
  const section = document.getElementById('view');
  const canvas = document.getElementById('piece');
  const pen = canvas && canvas.getContext('2d');
  if (!holder || !pen) return;
  const about = JSON.parse(holder.textContent);
  section.hidden = false;

  // Numbers lie column by column: the Rust side writes them in this order.
  const columns = (text) => {
    const letters = atob(text);
    const bytes = new Uint8Array(letters.length);
    for (let i = 0; i < letters.length; i++) bytes[i] = letters.charCodeAt(i);
    const all = new DataView(bytes.buffer);
    let read = 0;
    return (Kind, length) => {
      const get = { Uint8Array: 'getUint8', Int16Array: 'getInt16', Uint16Array: 'getUint16', Uint32Array: 'getUint32' }[Kind.name];
      const out = new Kind(length);
      for (let i = 0; i < length; i++, read += Kind.BYTES_PER_ELEMENT) out[i] = all[get](read, true);
      return out;
    };
  };
  const n = about.count;
  const column = columns(about.cells);
  const sides = column(Uint8Array, n);
  const kind = column(Uint8Array, n);
  const yarn = column(Uint8Array, n);
  const row = column(Uint16Array, n);
  const words = column(Uint16Array, n);
  const first = new Uint32Array(n + 1);
  for (let i = 0; i < n; i++) first[i + 1] = first[i] + sides[i];
  const m = about.points;
  const corner = column(m > 65535 ? Uint32Array : Uint16Array, first[n]);

  // One piece in one or more shapes: places of the vertices (mm), strains of the cells.
  const shapes = about.shapes.map((shape) => {
    const next = columns(shape.data);
    const axes = about.space ? 3 : 2;
    const packed = next(Uint16Array, axes * m);
    const at = new Float32Array(3 * m);
    for (let k = 0; k < m; k++) {
      for (let d = 0; d < axes; d++) at[3 * k + d] = shape.low[d] + packed[axes * k + d] * shape.step[d];
    }
    return { at, along: next(Int16Array, n), up: next(Int16Array, n), shear: next(Int16Array, n) };
  });
  let shape = shapes[0];
  const mid = new Float32Array(3 * n);
  const normal = new Float32Array(about.space ? 3 * m : 0);
  const take = (which) => {
    shape = shapes[which];
    const at = shape.at;
    mid.fill(0);
    normal.fill(0);
    for (let i = 0; i < n; i++) {
      for (let k = first[i]; k < first[i + 1]; k++) {
        for (let d = 0; d < 3; d++) mid[3 * i + d] += at[3 * corner[k] + d] / sides[i];
      }
      if (!about.space) continue;
      const sum = [0, 0, 0];
      for (let k = first[i]; k < first[i + 1]; k++) {
        const [p, q] = [3 * corner[k], 3 * corner[k + 1 < first[i + 1] ? k + 1 : first[i]]];
        sum[0] += at[p + 1] * at[q + 2] - at[p + 2] * at[q + 1];
        sum[1] += at[p + 2] * at[q] - at[p] * at[q + 2];
        sum[2] += at[p] * at[q + 1] - at[p + 1] * at[q];
      }
      for (let k = first[i]; k < first[i + 1]; k++) {
        for (let d = 0; d < 3; d++) normal[3 * corner[k] + d] += sum[d];
      }
    }
    for (let k = 0; k < normal.length; k += 3) {
      const long = Math.hypot(normal[k], normal[k + 1], normal[k + 2]) || 1;
      for (let d = 0; d < 3; d++) normal[k + d] /= long;
    }
  };
  take(0);

  // Colour.
  const mix = (a, b, t) => a.map((v, k) => Math.round(v + (b[k] - v) * t));
  const rgb = (hex) => [1, 3, 5].map((k) => parseInt(hex.slice(k, k + 2), 16));
  const INK = [30, 38, 46];
  const ramp = about.ramp.map(rgb);
  const onRamp = (share) => ramp[Math.min(ramp.length - 1, Math.max(0, Math.floor(share * ramp.length)))];
  const level = (name, full) => (i) => onRamp((shape[name][i] / 1e4 / full + 1) / 2);
  const lastRow = row.reduce((a, b) => Math.max(a, b), 1);
  const rowTint = (r) => {
    const tint = mix([16, 70, 88], [236, 206, 142], r / lastRow);
    return r % 2 ? mix(tint, [255, 255, 255], 0.28) : tint;
  };
  const between = (values) => {
    const [low, high] = [Math.min(...values), Math.max(...values)];
    return (v) => (high > low ? (v - low) / (high - low) : 0.5);
  };
  const tall = between(about.heights.filter((h) => h > 0));
  const [yarnTints, kindTints] = [about.yarnTints.map(rgb), about.kindTints.map(rgb)];
  const modes = {
    along: level('along', about.stretch),
    up: level('up', about.stretch),
    shear: level('shear', about.shear),
    height: (i) => onRamp(tall(about.heights[row[i]])),
    depth: (i) => onRamp(1 + mid[3 * i + 2] / Math.max(about.deepest, 1)),
    row: (i) => rowTint(row[i]),
    yarn: (i) => yarnTints[yarn[i]] || [176, 180, 184],
    kind: (i) => kindTints[kind[i] % kindTints.length],
  };

  // Where the eye is: the point in the middle of the picture, pixels a millimetre, turned about the third
  // axis, and lifted from looking along that axis.
  const eye = { c: [0, 0, 0], zoom: 1, turn: 0, lift: 0 };
  const LEVEL = Math.PI / 2;
  let size = [1, 1];
  const axes = () => {
    const [c, s, u, t] = [Math.cos(eye.turn), Math.sin(eye.turn), Math.cos(eye.lift), Math.sin(eye.lift)];
    return [[c, s, 0], [-s * u, c * u, t], [s * t, -c * t, u]];
  };
  const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  const toScreen = (p) => {
    const [across, up] = axes();
    const d = [p[0] - eye.c[0], p[1] - eye.c[1], p[2] - eye.c[2]];
    return [size[0] / 2 + eye.zoom * dot(d, across), size[1] / 2 - eye.zoom * dot(d, up)];
  };
  const place = (i) => toScreen([mid[3 * i], mid[3 * i + 1], mid[3 * i + 2]]);
  const shift = (dx, dy) => {
    const [across, up] = axes();
    for (let d = 0; d < 3; d++) eye.c[d] += (-dx * across[d] + dy * up[d]) / eye.zoom;
  };
  const spare = about.carriers.flat();
  const fitted = (turn, lift) => {
    Object.assign(eye, { turn, lift });
    const [across, up, near] = axes();
    const b = [Infinity, -Infinity, Infinity, -Infinity, Infinity, -Infinity];
    const see = (p) => [across, up, near].forEach((axis, k) => {
      const v = dot(p, axis);
      b[2 * k] = Math.min(b[2 * k], v); b[2 * k + 1] = Math.max(b[2 * k + 1], v);
    });
    for (let k = 0; k < m; k++) see([shape.at[3 * k], shape.at[3 * k + 1], shape.at[3 * k + 2]]);
    for (let k = 0; k < spare.length; k += 3) see(spare.slice(k, k + 3));
    const [u, v, w] = [0, 2, 4].map((k) => (b[k] + b[k + 1]) / 2);
    const c = [0, 1, 2].map((d) => u * across[d] + v * up[d] + w * near[d]);
    const [wide, high] = [Math.max(b[1] - b[0], 1), Math.max(b[3] - b[2], 1)];
    return { turn, lift, c, zoom: 0.92 * Math.min(size[0] / wide, size[1] / high), high };
  };
  const ways = about.space ? [[0.5, LEVEL - 0.16]]
    : about.elongated ? [[Math.PI / 2 - about.slant, 0], [-about.slant, 0]] : [[0, 0]];
  const whole = () => {
    const found = ways.map((way) => fitted(...way)).reduce((a, b) => (b.zoom > a.zoom ? b : a));
    Object.assign(eye, found);
    return found;
  };

  // The picture: which cell shows at every pixel, how near it is, and its colour.
  const film = document.createElement('canvas');
  const filmPen = film.getContext('2d');
  let grain = 1;
  let [id, depth, paint, image] = [null, null, null, null];
  let mode = modes.along;
  const grow = (wide, high) => {
    if (film.width === wide && film.height === high && id) return;
    film.width = wide; film.height = high;
    image = filmPen.createImageData(wide, high);
    paint = new Uint32Array(image.data.buffer);
    id = new Int32Array(wide * high);
    depth = new Float32Array(wide * high);
  };
  const colour = (c) => (255 << 24 | c[2] << 16 | c[1] << 8 | c[0]) >>> 0;
  const triangle = (p, q, r, tint, i) => {
    const [w, h] = [film.width, film.height];
    const area = (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
    if (!area) return;
    const [x0, x1] = [Math.max(0, Math.floor(Math.min(p[0], q[0], r[0]))), Math.min(w - 1, Math.ceil(Math.max(p[0], q[0], r[0])))];
    const [y0, y1] = [Math.max(0, Math.floor(Math.min(p[1], q[1], r[1]))), Math.min(h - 1, Math.ceil(Math.max(p[1], q[1], r[1])))];
    for (let y = y0; y <= y1; y++) {
      for (let x = x0; x <= x1; x++) {
        const [px, py] = [x + 0.5, y + 0.5];
        const a = ((r[0] - q[0]) * (py - q[1]) - (r[1] - q[1]) * (px - q[0])) / area;
        if (a < 0) continue;
        const b = ((p[0] - r[0]) * (py - r[1]) - (p[1] - r[1]) * (px - r[0])) / area;
        if (b < 0 || a + b > 1) continue;
        const z = a * p[2] + b * q[2] + (1 - a - b) * r[2];
        const k = y * w + x;
        if (z <= depth[k]) continue;
        depth[k] = z; id[k] = i; paint[k] = tint;
      }
    }
  };
  const fan = (corners, tint, i) => {
    for (let k = 1; k + 1 < corners.length; k++) triangle(corners[0], corners[k], corners[k + 1], tint, i);
  };
  const draw = () => {
    const [wide, high] = [Math.round(size[0] * grain), Math.round(size[1] * grain)];
    grow(wide, high);
    id.fill(-1);
    depth.fill(-Infinity);
    paint.fill(colour([251, 250, 247]));
    const [across, up, near] = axes();
    const seen = (p, q, r) => {
      const d = [p - eye.c[0], q - eye.c[1], r - eye.c[2]];
      return [grain * (size[0] / 2 + eye.zoom * dot(d, across)), grain * (size[1] / 2 - eye.zoom * dot(d, up)), dot(d, near)];
    };
    const at = new Array(m);
    let [far, close] = [Infinity, -Infinity];
    for (let k = 0; k < m; k++) {
      at[k] = seen(shape.at[3 * k], shape.at[3 * k + 1], shape.at[3 * k + 2]);
      far = Math.min(far, at[k][2]); close = Math.max(close, at[k][2]);
    }
    // In space slopes are lit from the upper left, and what is farther is paler.
    const lamp = [0, 1, 2].map((d) => -0.42 * across[d] + 0.46 * up[d] + 0.78 * near[d]);
    const lit = new Float32Array(about.space ? m : 0);
    for (let k = 0; k < lit.length; k++) {
      const own = [normal[3 * k], normal[3 * k + 1], normal[3 * k + 2]];
      lit[k] = 0.71 + 0.36 * Math.max(0, (dot(own, near) < 0 ? -1 : 1) * dot(own, lamp));
    }
    const shaded = (tint, light, z) => {
      const fog = close > far ? 0.35 * (1 - (z - far) / (close - far)) : 0;
      return tint.map((c) => Math.min(255, c * light + (255 - c * light) * fog));
    };
    let drawn = 0;
    for (let i = 0; i < n; i++) {
      const corners = [];
      let [x0, x1, y0, y1, light, z] = [Infinity, -Infinity, Infinity, -Infinity, 0, 0];
      for (let k = first[i]; k < first[i + 1]; k++) {
        const p = at[corner[k]];
        corners.push(p);
        x0 = Math.min(x0, p[0]); x1 = Math.max(x1, p[0]); y0 = Math.min(y0, p[1]); y1 = Math.max(y1, p[1]);
        z += p[2] / sides[i];
        if (about.space) light += lit[corner[k]] / sides[i];
      }
      if (x1 < 0 || y1 < 0 || x0 > wide || y0 > high) continue;
      drawn += 1;
      fan(corners, colour(about.space ? shaded(mode(i), light, z) : mode(i)), i);
    }
    about.carriers.forEach((face, k) => {
      const corners = [];
      for (let c = 0; c < face.length; c += 3) corners.push(seen(face[c], face[c + 1], face[c + 2]));
      const [a, b, c] = [0, 3, 6].map((j) => face.slice(j, j + 3));
      const [u, v] = [b.map((x, d) => x - a[d]), c.map((x, d) => x - a[d])];
      const own = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
      const light = 0.7 + 0.3 * Math.abs(dot(own, lamp)) / (Math.hypot(...own) || 1);
      fan(corners, colour([196, 190, 178].map((x) => x * light)), n + k);
    });
    lines();
    filmPen.putImageData(image, 0, 0);
    canvas.dataset.cells = drawn;
    canvas.dataset.zoom = eye.zoom.toFixed(3);
    canvas.dataset.turn = eye.turn.toFixed(3);
  };
  // A dark line round the piece, its holes and its folds; a pale one between stitches large enough for it.
  const lines = () => {
    const [w, h] = [film.width, film.height];
    const piece = (wanted) => wanted >= 0 && wanted < n;
    const apart = shape.apart || (shape.apart = spacing());
    const large = apart * eye.zoom > 7;
    const [dark, step] = [colour(INK), 0.9 * apart];
    const blend = (k, c, t) => {
      const old = [paint[k] & 255, paint[k] >> 8 & 255, paint[k] >> 16 & 255];
      paint[k] = colour(mix(old, c, t));
    };
    for (let y = 0; y < h; y++) {
      for (let x = 0; x < w; x++) {
        const k = y * w + x;
        for (const j of [x + 1 < w ? k + 1 : k, y + 1 < h ? k + w : k]) {
          if (id[j] === id[k]) continue;
          if (piece(id[k]) !== piece(id[j])) {
            paint[piece(id[k]) ? k : j] = dark;
          } else if (!piece(id[k])) {
            continue;
          } else if (about.space && Math.abs(depth[k] - depth[j]) > step) {
            blend(depth[k] > depth[j] ? k : j, INK, 0.6);
          } else if (large) {
            blend(k, [255, 255, 255], 0.6);
          }
        }
      }
    }
  };
  // Side of a square as large as a stitch, mm.
  const spacing = () => {
    let sum = 0;
    for (let i = 0; i < n; i += 1) {
      const [p, q] = [3 * corner[first[i]], 3 * corner[first[i] + 1]];
      sum += Math.hypot(shape.at[p] - shape.at[q], shape.at[p + 1] - shape.at[q + 1], shape.at[p + 2] - shape.at[q + 2]);
    }
    return sum / Math.max(n, 1);
  };

  let chosen = -1;
  const outline = (i, tint, width) => {
    pen.beginPath();
    for (let k = first[i]; k < first[i + 1]; k++) {
      const c = 3 * corner[k];
      pen.lineTo(...toScreen([shape.at[c], shape.at[c + 1], shape.at[c + 2]]));
    }
    pen.closePath();
    pen.strokeStyle = tint;
    pen.lineWidth = width;
    pen.stroke();
  };
  const show = () => {
    const ratio = window.devicePixelRatio || 1;
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.imageSmoothingQuality = 'high';
    pen.drawImage(film, 0, 0, canvas.width, canvas.height);
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.lineJoin = 'round';
    if (chosen < 0) return;
    for (let i = 0; i < n; i++) if (row[i] === row[chosen]) outline(i, 'rgba(30,38,46,.7)', 1);
    outline(chosen, '#fff', 5);
    outline(chosen, '#9e3e2c', 2.5);
  };
  let [stale, waiting, still] = [true, false, 0];
  const fresh = () => {
    if (!stale) return;
    stale = false;
    draw();
  };
  const redraw = () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => { waiting = false; fresh(); show(); });
  };
  // While the eye moves, pixels are coarse; at rest they are fine.
  const moved = () => {
    stale = true;
    grain = 1;
    clearTimeout(still);
    still = setTimeout(() => { grain = 2; stale = true; redraw(); }, 160);
    redraw();
  };
  const find = (x, y) => {
    fresh();
    const [c, r] = [Math.floor(x * grain), Math.floor(y * grain)];
    if (c < 0 || r < 0 || c >= film.width || r >= film.height) return -1;
    const i = id[r * film.width + c];
    return i < n ? i : -1;
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
  const below = (i) => {
    const mm = Math.max(-mid[3 * i + 2], 0);
    return about.metric ? `${(mm / 10).toFixed(1)} cm` : `${(mm / 25.4).toFixed(1)} in`;
  };
  const tell = () => {
    const i = chosen;
    if (i < 0) {
      told.textContent = invite;
      return;
    }
    const where = about.rows[row[i]] || `row ${row[i]}`;
    const of = about.yarns[yarn[i]];
    const said = about.words[words[i]];
    const { along, up, shear } = shape;
    const deep = about.space ? `; ${below(i)} below what holds the piece` : '';
    told.replaceChildren(
      line(where, `: ${about.kinds[kind[i]] || 'stitch'}${of ? ` in ${of}` : ''}${deep}`),
      line('In the pattern: ', said ? `“${said}”` : 'no words of its own'),
      line('Strain: ', `along the rows ${signed(along[i] / 100, 1)} %, up the columns ${signed(up[i] / 100, 1)} %, shear ${signed(shear[i] / 1e4 * 180 / Math.PI, 1)}°`)
    );
    told.dataset.row = row[i];
  };
  const choose = (i) => {
    if (i === chosen) return;
    chosen = i;
    tell();
    redraw();
  };

  const zoom = (by, px = size[0] / 2, py = size[1] / 2) => {
    const before = eye.zoom;
    eye.zoom = Math.min(60, Math.max(0.02, eye.zoom * by));
    const keep = eye.zoom / before - 1;
    shift((size[0] / 2 - px) * keep, (size[1] / 2 - py) * keep);
    moved();
  };
  const pan = (dx, dy) => { shift(dx, dy); moved(); };
  const turn = (by) => { eye.turn += by; moved(); };
  const lift = (by) => {
    eye.lift = Math.min(Math.PI - 0.05, Math.max(about.space ? 0.05 : 0, eye.lift + by));
    moved();
  };
  const tilt = () => {
    if (about.space) eye.lift = eye.lift < 0.4 ? LEVEL + 0.35 : eye.lift - 0.35;
    else eye.lift = eye.lift > 1 ? 0 : eye.lift + 0.35;
    moved();
  };
  const actions = {
    in: () => zoom(1.4), out: () => zoom(1 / 1.4), left: () => turn(-Math.PI / 12),
    right: () => turn(Math.PI / 12), tilt, whole: () => { whole(); moved(); },
  };
  for (const button of section.querySelectorAll('button[data-do]')) {
    button.addEventListener('click', actions[button.dataset.do]);
  }

  // Mouse and touch: one pointer moves a flat piece and turns one in space, shift does the other; two
  // stretch and turn it; a tap asks.
  const down = new Map();
  let travelled = 0;
  const spot = (event) => {
    const r = canvas.getBoundingClientRect();
    return [event.clientX - r.left, event.clientY - r.top];
  };
  canvas.addEventListener('pointerdown', (event) => {
    canvas.setPointerCapture && event.isTrusted && canvas.setPointerCapture(event.pointerId);
    down.set(event.pointerId, spot(event));
    travelled = down.size > 1 ? 99 : 0;
  });
  canvas.addEventListener('pointermove', (event) => {
    const here = spot(event);
    const before = down.get(event.pointerId);
    if (!before) {
      if (event.pointerType !== 'touch') choose(find(...here));
      return;
    }
    const [dx, dy] = [here[0] - before[0], here[1] - before[1]];
    travelled += Math.abs(dx) + Math.abs(dy);
    const other = [...down].find(([held]) => held !== event.pointerId);
    if (other) {
      const [ox, oy] = other[1];
      const [ax, ay, bx, by] = [before[0] - ox, before[1] - oy, here[0] - ox, here[1] - oy];
      zoom(Math.hypot(bx, by) / Math.max(Math.hypot(ax, ay), 1), ox, oy);
      if (about.space) pan(dx / 2, dy / 2);
      else turn(Math.atan2(by, bx) - Math.atan2(ay, ax));
    } else if (travelled > 4 && event.shiftKey !== about.space) {
      turn(about.space ? -dx * 0.01 : dx * 0.01);
      if (about.space) lift(-dy * 0.01);
    } else if (travelled > 4) {
      pan(dx, dy);
    }
    down.set(event.pointerId, here);
  });
  const release = (event) => {
    if (down.delete(event.pointerId) && travelled <= 4 && event.type === 'pointerup') choose(find(...spot(event)));
  };
  canvas.addEventListener('pointerup', release);
  canvas.addEventListener('pointercancel', release);
  canvas.addEventListener('pointerleave', (event) => {
    if (!down.size && event.pointerType === 'mouse' && document.activeElement !== canvas) choose(-1);
  });
  // The wheel scrolls the page until the picture is in use.
  canvas.addEventListener('wheel', (event) => {
    if (!event.ctrlKey && document.activeElement !== canvas) return;
    event.preventDefault();
    zoom(Math.exp(-event.deltaY * 0.0015), ...spot(event));
  }, { passive: false });

  // Keyboard: arrows walk from stitch to stitch as they lie on the screen.
  const walk = (dx, dy) => {
    if (chosen < 0) {
      let [best, nearest] = [-1, Infinity];
      for (let i = 0; i < n; i++) {
        const [x, y] = place(i);
        const d = Math.hypot(x - size[0] / 2, y - size[1] / 2);
        if (d < nearest) [best, nearest] = [i, d];
      }
      choose(best);
      return;
    }
    let [x, y] = place(chosen);
    if (x < 0 || y < 0 || x > size[0] || y > size[1]) pan(size[0] / 2 - x, size[1] / 2 - y);
    [x, y] = place(chosen);
    const step = 0.5 / grain;
    for (; x >= 0 && y >= 0 && x <= size[0] && y <= size[1]; x += dx * step, y += dy * step) {
      const i = find(x, y);
      if (i >= 0 && i !== chosen) {
        choose(i);
        return;
      }
    }
    // At the rim of the picture there may be more of the piece beyond it.
    pan(-dx * size[0] / 4, -dy * size[1] / 4);
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
  const recolour = () => {
    mode = modes[by.value];
    for (const legend of section.querySelectorAll('[data-legend]')) {
      legend.hidden = !legend.dataset.legend.split(' ').includes(by.value);
    }
    stale = true;
    redraw();
  };
  by.addEventListener('change', recolour);
  const which = document.getElementById('which-shape');
  if (which) {
    which.addEventListener('change', () => { take(which.selectedIndex); tell(); stale = true; redraw(); });
  }

  let placed = false;
  const fit = () => {
    const ratio = window.devicePixelRatio || 1;
    const r = canvas.getBoundingClientRect();
    if (!r.width || !r.height) return;
    // A window that changes shows as much of the piece as before.
    if (placed) eye.zoom *= Math.min(r.width / size[0], r.height / size[1]);
    size = [r.width, r.height];
    if (!placed && !about.space) {
      // A long piece on a wide screen needs no tall picture.
      const found = whole();
      const top = Math.min(0.62 * window.innerHeight, 460);
      const high = found.high * found.zoom * 1.15 + 40;
      if (size[0] > 700 && high < top) {
        canvas.style.height = `${Math.max(high, 340)}px`;
        size = [r.width, canvas.getBoundingClientRect().height];
      }
    }
    canvas.width = Math.round(r.width * ratio);
    canvas.height = Math.round(size[1] * ratio);
    if (!placed) { placed = true; whole(); }
    grain = 2;
    stale = true;
    fresh();
    show();
  };
  recolour();
  fit();
  window.addEventListener('resize', fit);
  window.addEventListener('beforeprint', () => {
    for (const d of document.querySelectorAll('details')) d.open = true;
  });
})();
