// How things are drawn, in the colours of the moment, and what a pointer hits of them.

// Patterns are drawn in the size of the screen's own pixels, or they would blur.
const fine = L.Browser.retina ? 2 : 1;
const pattern = (size, draw) => {
  const c = document.createElement('canvas');
  c.width = c.height = size * fine;
  const x = c.getContext('2d');
  x.scale(fine, fine);
  draw(x);
  const p = x.createPattern(c, 'repeat');
  p.setTransform(new DOMMatrix().scale(1 / fine));
  return p;
};
let hatch, dots; // for zones not proven, and for water whose depth is unsure
const makePatterns = () => {
  hatch = pattern(8, (x) => {
    x.strokeStyle = ink.zone;
    x.lineWidth = 1.6;
    x.globalAlpha = 0.8;
    x.beginPath();
    for (const s of [-8, 0, 8]) { x.moveTo(s - 1, 9); x.lineTo(s + 9, -1); }
    x.stroke();
  });
  dots = pattern(7, (x) => {
    x.fillStyle = ink.dot;
    x.beginPath();
    x.arc(3.5, 3.5, 1, 0, 7);
    x.fill();
  });
};

const font = (size, weight) => `${weight} ${size}px system-ui,-apple-system,"Segoe UI",Roboto,Arial,sans-serif`;
const trace = (x, parts, close) => {
  x.beginPath();
  for (const p of parts) {
    p.forEach((q, i) => (i ? x.lineTo(q.x, q.y) : x.moveTo(q.x, q.y)));
    if (close) x.closePath();
  }
};
const stroke = (x, colour, width, dash) => {
  x.globalAlpha = 1;
  x.setLineDash(dash || []);
  x.lineCap = x.lineJoin = 'round';
  x.strokeStyle = colour;
  x.lineWidth = width;
  x.stroke();
};

const Zone = L.Polygon.extend({
  _updatePath() {
    const r = this._renderer, x = r._ctx, z = this.options.thing;
    if (!r._drawing) return;
    const lit = z === picked || z === hot, proven = z.Kind === 'proven';
    trace(x, this._parts, true);
    x.globalAlpha = proven ? 0.2 : 1;
    x.fillStyle = proven ? ink.zone : hatch;
    x.fill('evenodd');
    if (lit) stroke(x, ink.ink, 6);
    if (lit) stroke(x, ink.card, 4);
    stroke(x, ink.zone, 2.5, proven ? [] : [6, 4]);
  },
  // The name is as good to hit as the place.
  _containsPoint(p) { return this.covers(p) || tagHit(this.options.thing, p); },
  covers(p) { return L.Polygon.prototype._containsPoint.call(this, p); },
});

const head = (x, at, angle, size) => {
  x.save();
  x.translate(at.x, at.y);
  x.rotate(angle);
  x.scale(size, size);
  x.beginPath();
  x.moveTo(-8, -6); x.lineTo(7, 0); x.lineTo(-8, 6); x.lineTo(-4.5, 0);
  x.closePath();
  x.fillStyle = ink.drift;
  x.fill();
  stroke(x, ink.casing, 1.3);
  x.restore();
};

// A zone that is small on the screen, and its name, go before what lies on it: else a
// finger would never find it between its catches. Nearer, the catch goes first.
const small = 110;
const zoneFirst = (p) => list('Zones').some((z) => {
  const b = z.path._pxBounds;
  return map.hasLayer(z.group) && ((b && b.contains(p) && Math.max(b.getSize().x, b.getSize().y) < small && z.path.covers(p)) || tagHit(z, p));
});

const Drift = L.Polyline.extend({
  _containsPoint(p) { return L.Polyline.prototype._containsPoint.call(this, p) && !zoneFirst(p); },
  _updatePath() {
    const r = this._renderer, x = r._ctx, d = this.options.thing;
    if (!r._drawing) return;
    trace(x, this._parts, false);
    if (d === picked || d === hot) { stroke(x, ink.ink, 11); stroke(x, ink.card, 9); }
    stroke(x, ink.casing, 5);
    stroke(x, ink.drift, 2.4);
    for (const line of this._rings) {
      const w = walk(line);
      for (const share of w.length < 60 ? [1] : [0.5, 1]) {
        const p = w.at(share * w.length);
        head(x, p, p.angle, 1);
      }
    }
  },
});

const Mark = L.CircleMarker.extend({
  _containsPoint(p) { return L.CircleMarker.prototype._containsPoint.call(this, p) && !zoneFirst(p); },
  _updatePath() {
    const r = this._renderer, x = r._ctx, p = this._point, kind = this.options.thing.Kind;
    if (!r._drawing || this._empty()) return;
    x.save();
    x.translate(p.x, p.y);
    // Seen from far, marks of full size would hide what they stand on.
    const lit = this.options.thing === picked || this.options.thing === hot;
    const k = lit ? 1.7 : Math.min(1, Math.max(0.65, 0.9 + 0.15 * map.getZoom()));
    x.scale(k, k);
    x.beginPath();
    if (kind === 'catch') x.arc(0, 0, 4.4, 0, 7);
    else if (kind === 'bite') x.arc(0, 0, 3.9, 0, 7);
    else if (kind === 'mark') { x.moveTo(0, -5.2); x.lineTo(4.8, 3.5); x.lineTo(-4.8, 3.5); x.closePath(); }
    else { x.moveTo(0, -4.9); x.lineTo(4.9, 0); x.lineTo(0, 4.9); x.lineTo(-4.9, 0); x.closePath(); }
    const filled = kind === 'catch' || kind === 'mark';
    x.globalAlpha = 1;
    x.fillStyle = filled ? ink.mark : ink.edge;
    x.fill();
    stroke(x, filled ? ink.edge : ink.mark, filled ? 1.1 : 1.7);
    x.restore();
  },
});
