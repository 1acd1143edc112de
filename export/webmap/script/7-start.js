// Puts the map together and into the place of the still picture.

const start = () => {
  readColours();
  const whole = L.latLngBounds([data.Low[1] / perM, data.Low[0] / perM], [data.High[1] / perM, data.High[0] / perM]);
  map = L.map(box, {
    crs: L.CRS.Simple, zoomControl: false, attributionControl: false, zoomSnap: 0.05, zoomDelta: 0.75, maxZoom: 3, minZoom: -12,
    fadeAnimation: false, zoomAnimation: !calm.matches, inertia: !calm.matches, scrollWheelZoom: false, wheelPxPerZoomLevel: 90,
    maxBounds: whole.pad(0.6), boxZoom: true, keyboardPanDelta: 90,
  });
  box.setAttribute('role', 'application');
  box.setAttribute('aria-label', 'Map. Arrow keys move it, plus and minus change how near it is. Zones are in the list after it.');
  // The library's moves are eased; who asked for less motion gets them at once.
  const panBy = map.panBy;
  map.panBy = function (offset, options) { return panBy.call(this, offset, calm.matches ? { ...options, animate: false } : options); };
  calm.addEventListener('change', () => { map.options.inertia = !calm.matches; });

  const fit = (options) => {
    map.setMinZoom(-12);
    map.fitBounds(whole, { padding: [26, 26], ...options });
    map.setMinZoom(Math.min(map.getBoundsZoom(whole.pad(0.3)), 3));
  };
  map.createPane('under');
  map.createPane('over');
  under = L.canvas({ pane: 'under', padding: 0.5 });
  over = L.canvas({ pane: 'over', padding: 0.5, tolerance: coarse ? 9 : 3 });
  fit({ animate: false });

  // Half the view lies drawn beyond each edge; a longer pull is drawn while it lasts.
  map.on('move', () => {
    if (map._animatingZoom || !over._bounds) return;
    const tl = map.containerPointToLayerPoint([0, 0]);
    const view = L.bounds(tl, tl.add(map.getSize()));
    if (!over._bounds.contains(view)) { under._update(); over._update(); }
  });

  makePatterns();
  makeLayers((thing) => open(thing, box));
  makeLegend();
  makeLists();
  live.addEventListener('keydown', (e) => {
    if (e.key === 'Escape' && picked) { e.preventDefault(); close(); }
  });

  // The wheel turns the page until the map has the focus, else nobody gets past it.
  box.addEventListener('focus', () => map.scrollWheelZoom.enable());
  box.addEventListener('blur', () => map.scrollWheelZoom.disable());
  part('zoom').addEventListener('click', (e) => {
    const what = e.target.dataset.do;
    if (what === 'in') map.zoomIn(undefined, eased());
    if (what === 'out') map.zoomOut(undefined, eased());
    if (what === 'all') fit(eased());
  });

  const scale = part('scale');
  const measure = () => {
    const perPx = 2 ** map.getZoom(), longest = Math.min(140, map.getSize().x / 3);
    const rung = [...data.Rungs].reverse().find((r) => r.M * perPx <= longest) || data.Rungs[0];
    scale.lastElementChild.style.width = rung.M * perPx + 'px';
    scale.firstElementChild.textContent = rung.Text;
  };
  map.on('zoomend', measure);
  measure();

  dark.addEventListener('change', () => {
    readColours();
    makePatterns();
    paintRamp();
    for (const l of layers) for (const p of l.paths) p.restyle();
    names.redraw();
  });
  // Until somebody moves the map, it shows the whole in whatever room it gets.
  let moved = false;
  map.on('movestart', () => { moved = true; });
  new ResizeObserver(() => {
    map.invalidateSize({ animate: false, pan: moved });
    if (!moved) { fit({ animate: false }); moved = false; }
    measure();
  }).observe(box);
};

// The picture is swapped before the map is made: it needs its size.
figure.classList.add('on');
const hidden = [...figure.children].filter((e) => e !== live);
hidden.forEach((e) => { e.inert = true; });
try {
  start();
} catch (e) {
  figure.classList.remove('on');
  hidden.forEach((h) => { h.inert = false; });
  throw e;
}
