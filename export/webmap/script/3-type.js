// Type on the map: where each word stands, and how it is drawn.

// walk measures a line of pixels and finds places along it, with the direction there.
const walk = (line) => {
  const along = [0];
  for (let i = 1; i < line.length; i++) along.push(along[i - 1] + Math.hypot(line[i].x - line[i - 1].x, line[i].y - line[i - 1].y));
  const length = along[along.length - 1];
  return {
    length,
    at(s) {
      let lo = 1, hi = line.length - 1;
      while (lo < hi) { const m = (lo + hi) >> 1; if (along[m] < s) lo = m + 1; else hi = m; }
      while (lo > 1 && along[lo] === along[lo - 1]) lo--;
      const a = line[lo - 1], b = line[lo], step = along[lo] - along[lo - 1];
      const f = step > 0 ? (s - along[lo - 1]) / step : 0;
      return { x: a.x + f * (b.x - a.x), y: a.y + f * (b.y - a.y), angle: Math.atan2(b.y - a.y, b.x - a.x) };
    },
  };
};

// Where the type stands is worked out once for each zoom, for the whole lake, so that
// it keeps its place while the map is moved. Each word takes the first of its places
// that touches nothing placed before it. Boxes are kept by the squares they touch.
const square = 64;
const newTaken = () => {
  const at = new Map();
  const each = (b, f) => {
    for (let i = Math.floor(b[0] / square); i <= Math.floor(b[2] / square); i++) {
      for (let j = Math.floor(b[1] / square); j <= Math.floor(b[3] / square); j++) if (f(i + ',' + j)) return true;
    }
    return false;
  };
  return {
    free: (b) => !each(b, (k) => (at.get(k) || []).some((o) => o[0] < b[2] && b[0] < o[2] && o[1] < b[3] && b[1] < o[3])),
    add: (b) => each(b, (k) => { if (!at.has(k)) at.set(k, []); at.get(k).push(b); return false; }),
  };
};
const around = (p, w, h) => [p.x - w, p.y - h, p.x + w, p.y + h];
const pixels = (latlngs, zoom) => latlngs.map((q) => map.project(q, zoom));

let words = { zoom: null, tags: [], numbers: [] };
const layout = () => {
  const zoom = map.getZoom();
  if (words.zoom === zoom) return words;
  const taken = newTaken(), out = { zoom, tags: [], numbers: [] };
  const ways = list('Drifts').map((d) => walk(pixels(d.places, zoom)));
  ways.forEach((w) => taken.add(around(w.at(w.length), 9, 9)));
  // Seen from far, the names of many small zones would hide the map: the first ones of the
  // list, which has the best first, are named, the others when they are nearer.
  const zoneBoxes = [], most = 40, smallest = 16;
  list('Zones').forEach((z, i) => {
    const ring = pixels(z.rings.length ? z.rings[0] : [z.at], zoom), b = L.bounds(ring), c = b.getCenter(), half = b.getSize().divideBy(2);
    const w = z.ID.length * 4.3 + 9, h = 12;
    const spots = [];
    for (const gap of [3, 16]) {
      for (const deg of [-45, -135, 45, 135, -90, 90, 0, 180]) {
        const a = deg * Math.PI / 180;
        spots.push({ x: c.x + (half.x + w + gap) * Math.cos(a), y: c.y + (half.y + h + gap) * Math.sin(a) });
      }
    }
    const far = i >= most && Math.max(half.x, half.y) * 2 < smallest;
    const spot = far ? null : spots.find((p) => taken.free(around(p, w, h)));
    if (spot) taken.add(around(spot, w, h));
    z.tag = { ...(spot || spots[4]), w, h, thing: z, draw: drawTag, crowded: !spot };
    out.tags.push(z.tag);
    zoneBoxes.push([b.min.x, b.min.y, b.max.x, b.max.y]);
  });
  zoneBoxes.forEach((b) => taken.add(b));
  list('Drifts').forEach((d, i) => {
    // Behind the start, where no arrowhead can be, or else beside it.
    const s = ways[i].at(0);
    const spots = [180, 135, 225, 90, 270].map((deg) => {
      const a = s.angle + deg * Math.PI / 180;
      return { x: s.x + 17 * Math.cos(a), y: s.y + 14 * Math.sin(a) };
    });
    const at = spots.find((p) => taken.free(around(p, 13, 9)));
    if (ways[i].length < 24 || !at) return;
    taken.add(around(at, 13, 9));
    out.tags.push({ ...at, thing: d, draw: drawName });
  });
  // Numbers keep off the drift lines, which would hide them.
  for (const w of ways) for (let s = 0; s < w.length; s += 14) taken.add(around(w.at(s), 5, 5));
  const apart = 200;
  for (const c of list('Contours')) {
    const half = 3.6 * c.Text.length + 4;
    for (const line of c.places) {
      const w = walk(pixels(line, zoom));
      if (w.length < 8 * half) continue;
      const n = Math.max(1, Math.floor(w.length / apart));
      for (let i = 0; i < n; i++) {
        // A few places of each stretch are tried, its middle first.
        for (const off of [0, 0.12, -0.12, 0.24, -0.24, 0.36, -0.36]) {
          const s = (i + 0.5 + off) * w.length / n;
          if (s < half || s > w.length - half) continue;
          const a = w.at(s - half), b = w.at(s + half), p = w.at(s);
          const bent = Math.hypot(b.x - a.x, b.y - a.y) < 1.9 * half;
          if (bent || !taken.free(around(p, half + 3, half))) continue;
          taken.add(around(p, half + 3, half));
          let angle = Math.atan2(b.y - a.y, b.x - a.x);
          if (Math.abs(angle) > Math.PI / 2) angle += Math.PI;
          out.numbers.push({ x: p.x, y: p.y, angle, text: c.Text, deep: c.Deep, draw: drawNumber });
          break;
        }
      }
    }
  }
  words = out;
  return words;
};
const drawNumber = (x, l) => {
  const light = l.deep || dark.matches;
  x.rotate(l.angle);
  x.font = font(11.5, 500);
  x.strokeStyle = light ? 'rgba(5,25,55,.55)' : ink.halo;
  x.lineWidth = 3.5;
  x.strokeText(l.text, 0, 0);
  x.fillStyle = light ? '#fff' : '#16212b';
  x.fillText(l.text, 0, 0);
};
const drawName = (x, l) => {
  x.font = font(12.5, 700);
  x.strokeStyle = ink.casing;
  x.lineWidth = 3.5;
  x.strokeText(l.thing.ID, 0, 0);
  x.fillStyle = ink.drift;
  x.fillText(l.thing.ID, 0, 0);
};
const drawTag = (x, l) => {
  const lit = l.thing === picked || l.thing === hot, proven = l.thing.Kind === 'proven';
  x.beginPath();
  x.roundRect(-l.w, -l.h, 2 * l.w, 2 * l.h, l.h);
  x.fillStyle = proven ? ink.zone : ink.card;
  x.fill();
  stroke(x, lit ? ink.ink : proven ? ink.edge : ink.zone, lit ? 3 : 1.8, proven || lit ? [] : [4, 3]);
  x.setLineDash([]);
  x.font = font(13, 700);
  x.fillStyle = proven ? '#16100a' : ink.ink;
  x.fillText(l.thing.ID, 0, 1);
};
const seen = (t) => map.hasLayer(t.thing.group) && (!t.crowded || t.thing === picked || t.thing === hot);
const tags = () => layout().tags.filter(seen);
const tagHit = (zone, p) => {
  layout();
  const o = map.getPixelOrigin(), t = zone.tag;
  return seen(t) && Math.abs(p.x + o.x - t.x) <= t.w && Math.abs(p.y + o.y - t.y) <= t.h;
};

// Type over everything else of its canvas.
const Words = L.CircleMarker.extend({
  options: { interactive: false },
  _update() {
    if (!this._map) return;
    this._pxBounds = this._renderer._bounds;
    this._updatePath();
  },
  _updatePath() {
    if (!this._renderer._drawing) return;
    const x = this._renderer._ctx, o = map.getPixelOrigin(), b = this._renderer._bounds;
    x.save();
    x.setLineDash([]);
    x.globalAlpha = 1;
    x.textAlign = 'center';
    x.textBaseline = 'middle';
    x.lineJoin = 'round';
    for (const l of this.options.words()) {
      const at = L.point(l.x - o.x, l.y - o.y);
      if (b.contains(at)) { x.save(); x.translate(at.x, at.y); l.draw(x, l); x.restore(); }
    }
    x.restore();
  },
});
