// The layers that can be switched on and off, from the lowest up.

const layers = [];
const dashes = { running: '1.5 5', crawling: '6 4' }; // of tracks, by what the boat did
let numbers, names; // the type of the two canvases
const layer = (key, label, on, count) => {
  const l = { key, label, on, group: L.layerGroup(), paths: [] };
  l.add = (path, style) => {
    path.restyle = () => path.setStyle(style());
    path.setStyle(style());
    l.paths.push(path);
    l.group.addLayer(path);
  };
  if (count) layers.push(l);
  return l;
};

const makeLayers = (pick) => {
  const plain = { interactive: false, renderer: under };
  const areas = layer('areas', 'Depth areas', true, list('Areas').length);
  for (const a of list('Areas')) {
    const shape = a.Shape.map((rings) => rings.map(places));
    // A thin line of its own colour closes the seams between neighbours.
    areas.add(L.polygon(shape, { ...plain, smoothFactor: 0.5 }), () => {
      const c = dark.matches ? a.Dark : a.Light;
      return { fillColor: c, fillOpacity: 1, color: c, weight: 0.8, opacity: 1 };
    });
  }
  if (data.Doubtful) {
    areas.add(L.polygon(data.Doubtful.map((rings) => rings.map(places)), { ...plain, stroke: false }), () => ({ fillColor: dots, fillOpacity: 1 }));
  }
  const contours = layer('contours', 'Contours, depths in ' + data.DepthUnit, true, list('Contours').length);
  for (const c of list('Contours')) {
    c.places = c.Lines.map((l) => places(l).map((q) => L.latLng(q)));
    contours.add(L.polyline(c.places, { ...plain, smoothFactor: 0.7 }), () => ({ color: ink.contour, weight: 1, opacity: 1 }));
  }
  numbers = new Words([0, 0], { renderer: under, words: () => layout().numbers });
  contours.add(numbers, () => ({}));
  const boat = layer('tracks', 'Where the boat went', false, list('Tracks').length);
  // A pale line under each, or it would not be seen on deep water.
  for (const t of list('Tracks')) {
    boat.add(L.polyline(t.Lines.map(places), { ...plain, lineCap: 'butt' }), () => ({ color: ink.halo, weight: 3.2, opacity: 0.55, dashArray: dashes[t.State] || null }));
  }
  for (const t of list('Tracks')) {
    boat.add(L.polyline(t.Lines.map(places), plain), () => ({ color: ink.track, weight: 1.3, opacity: 0.9, dashArray: dashes[t.State] || null }));
  }

  const pickable = (l, path, thing) => {
    thing.path = path;
    thing.group = l.group;
    path.on('click', (e) => { L.DomEvent.stopPropagation(e); pick(thing); });
    l.add(path, () => ({}));
  };
  const drifts = layer('drifts', 'Drift lines, the way the boat drifted', true, list('Drifts').length);
  for (const d of list('Drifts')) {
    d.places = places(d.Line).map((q) => L.latLng(q));
    if (d.Best) drifts.add(L.polyline(places(d.Best), { interactive: false, renderer: over }), () => ({ color: ink.drift, weight: 13, opacity: 0.5 }));
  }
  const unproven = layer('unproven', 'Zones not proven', true, list('Zones').some((z) => z.Kind !== 'proven'));
  const proven = layer('proven', 'Zones proven', true, list('Zones').some((z) => z.Kind === 'proven'));
  for (const z of list('Zones')) {
    z.rings = (z.Rings || []).map((r) => places(r).map((q) => L.latLng(q)));
    z.at = L.latLng(places(z.At)[0]);
    pickable(z.Kind === 'proven' ? proven : unproven, new Zone(z.rings, { renderer: over, thing: z, smoothFactor: 0.5 }), z);
  }
  for (const d of list('Drifts')) pickable(drifts, new Drift(d.places, { renderer: over, thing: d, weight: 9, smoothFactor: 0.5 }), d);
  const marks = layer('marks', 'Catches and marks', true, list('Marks').length);
  for (const m of list('Marks')) {
    m.at = L.latLng(places(m.At)[0]);
    pickable(marks, new Mark(m.at, { renderer: over, thing: m, radius: coarse ? 5 : 4, weight: 2 }), m);
  }
  names = new Words([0, 0], { renderer: over, words: tags });
  layers.forEach((l) => show(l, l.on));
  names.addTo(map);
  order();
};

// A group that is put back would lie on top: all are put in order again. Best stretches
// stay below the zones.
const order = () => {
  for (const l of layers) if (l.on) for (const p of l.paths) p.bringToFront();
  const drifts = layers.find((l) => l.key === 'drifts');
  if (drifts && drifts.on) for (const p of [...drifts.paths].reverse()) if (!p.options.thing) p.bringToBack();
  if (map.hasLayer(numbers)) numbers.bringToFront();
  names.bringToFront();
};
const show = (l, on) => {
  l.on = on;
  if (on) map.addLayer(l.group);
  else map.removeLayer(l.group);
  if (map.hasLayer(names)) { order(); names.redraw(); }
};
