// The lists of everything that has a card, and the card.

const lists = part('lists'), card = part('card');
const relight = (thing) => { if (thing && map.hasLayer(thing.group)) { thing.path.redraw(); names.redraw(); } };
const light = (thing) => {
  const was = hot;
  hot = thing;
  relight(was);
  relight(thing);
};
const group = (title, things, closed) => {
  if (!things.length) return;
  const outer = make(closed ? 'details' : 'div', undefined, 'webmap-list');
  outer.append(make(closed ? 'summary' : 'h3', title + ' (' + things.length + ')'));
  const ul = make('ul');
  for (const t of things) {
    const li = make('li'), b = make('button', t.Name);
    b.type = 'button';
    b.className = t.Kind;
    if (t.ID) b.dataset.id = t.ID;
    b.addEventListener('click', () => { look(t); open(t, b); });
    b.addEventListener('focus', () => light(t));
    b.addEventListener('blur', () => light(null));
    b.addEventListener('mouseenter', () => light(t));
    b.addEventListener('mouseleave', () => light(null));
    li.append(b);
    ul.append(li);
  }
  outer.append(ul);
  lists.append(outer);
};
const makeLists = () => {
  group('Zones proven', list('Zones').filter((z) => z.Kind === 'proven'));
  group('Zones not proven', list('Zones').filter((z) => z.Kind !== 'proven'));
  group('Drift lines', list('Drifts'), true);
  group('Catches and marks', list('Marks'), true);
};

// look brings a thing into view, near enough to be seen well, no nearer than needed.
const look = (t) => {
  const b = t.path.getBounds ? t.path.getBounds() : L.latLngBounds([t.at, t.at]);
  const s = b.isValid() ? b : L.latLngBounds([t.at, t.at]);
  const near = Math.min(map.getBoundsZoom(s.pad(1.5)), 1);
  const seen = map.getBounds().pad(-0.1).contains(s);
  if (!seen || map.getZoom() < near - 1.5) map.setView(s.getCenter(), Math.max(map.getZoom(), near - 0.5), eased());
};

let opener = null;
const open = (t, from) => {
  const was = picked;
  picked = t;
  opener = from;
  relight(was);
  relight(t);
  card.replaceChildren();
  const title = make('h3', t.Name);
  title.id = 'webmap-title';
  card.setAttribute('aria-labelledby', title.id);
  const shut = make('button', 'Close', 'webmap-close');
  shut.type = 'button';
  shut.addEventListener('click', close);
  const top = make('header', undefined, t.Kind);
  top.append(title, shut);
  card.append(top);
  const dl = make('dl');
  for (const [k, v] of t.Facts) {
    const row = make('div');
    row.append(make('dt', k), make('dd', v));
    dl.append(row);
  }
  card.append(dl);
  if (t.Why) {
    card.append(make('h4', 'About the head'));
    t.Why.forEach((w) => card.append(make('p', w, 'webmap-why')));
  }
  if (t.Caution) card.append(make('p', t.Caution, 'webmap-caution'));
  if (t.Advice) {
    card.append(make('h4', t.Heading));
    const ul = make('ul');
    for (const [what, why] of t.Advice) {
      const li = make('li');
      li.append(make('b', what), ' ' + why);
      ul.append(li);
    }
    card.append(ul);
  }
  if (t.ID && document.getElementById('zone-' + t.ID)) {
    const more = make('a', 'All about ' + t.ID);
    more.href = '#zone-' + t.ID;
    card.append(more);
  }
  lists.hidden = true;
  card.hidden = false;
  card.scrollTop = 0;
  card.focus({ preventScroll: true });
  card.scrollIntoView({ block: 'nearest', behavior: calm.matches ? 'auto' : 'smooth' });
};
const close = () => {
  if (!picked) return;
  const was = picked;
  picked = null;
  card.hidden = true;
  lists.hidden = false;
  relight(was);
  if (opener) opener.focus({ preventScroll: opener === box });
  opener = null;
};
