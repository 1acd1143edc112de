// The list of layers, which is the legend.

const layerList = part('layers');
const sample = (key) => {
  const s = svg('svg', { viewBox: '0 0 30 14', 'aria-hidden': 'true', class: 'webmap-sample ' + key });
  const add = (tag, a) => s.append(svg(tag, a));
  const marksAt = { catch: 5, bite: 15, mark: 25 };
  switch (key) {
    case 'areas': [0.15, 0.5, 0.85].forEach((f, i) => {
      const r = svg('rect', { x: 10 * i, y: 1, width: 10, height: 12 });
      r.dataset.step = Math.round(f * (list('Areas').length - 1));
      s.append(r);
    }); break;
    case 'contours': add('path', { d: 'M1 11C9 -4 19 18 29 3', class: 'line' }); break;
    case 'tracks': add('path', { d: 'M1 11C9 -4 19 18 29 3', class: 'way' }); break;
    case 'drifts': add('path', { d: 'M2 7H24', class: 'casing' }); add('path', { d: 'M2 7H24', class: 'core' }); add('path', { d: 'M15 1L29 7L15 13L18.5 7Z', class: 'head' }); break;
    case 'proven': add('rect', { x: 1.5, y: 1.5, width: 27, height: 11, rx: 5, class: 'fill' }); break;
    case 'unproven': add('path', { d: 'M5 12L15 2M11 12L21 2M17 12L26 3', class: 'hatch' }); add('rect', { x: 1.5, y: 1.5, width: 27, height: 11, rx: 5, class: 'dash' }); break;
    default: add('circle', { cx: marksAt.catch, cy: 7, r: 4.2, class: 'full' }); add('circle', { cx: marksAt.bite, cy: 7, r: 3.8, class: 'open' }); add('path', { d: 'M25 2L29.6 10.4H20.4Z', class: 'full' });
  }
  return s;
};

const makeLegend = () => {
  const shownAs = ['proven', 'unproven', 'drifts', 'marks', 'areas', 'contours', 'tracks'];
  for (const l of [...layers].sort((a, b) => shownAs.indexOf(a.key) - shownAs.indexOf(b.key))) {
    const label = make('label'), tick = make('input');
    tick.type = 'checkbox';
    tick.checked = l.on;
    tick.dataset.layer = l.key;
    tick.addEventListener('change', () => show(l, tick.checked));
    label.append(tick, sample(l.key), make('span', l.label));
    layerList.append(label);
    if (l.key === 'areas') {
      const ramp = make('div', undefined, 'webmap-ramp');
      list('Areas').forEach((a, i) => {
        const step = make('span'), s = svg('svg', { viewBox: '0 0 18 12', 'aria-hidden': 'true' }), r = svg('rect', { width: 18, height: 12 });
        r.dataset.step = i;
        s.append(r);
        step.append(s, a.Text);
        ramp.append(step);
      });
      if (data.Unsure) ramp.append(make('span', 'Dotted: ' + data.Unsure));
      layerList.append(ramp);
    }
    if (l.key === 'drifts' && list('Drifts').some((d) => d.Best)) layerList.append(make('p', 'broad yellow: the best stretch', 'webmap-key'));
    if (l.key === 'marks') {
      const kinds = { catch: 'disc: catch', bite: 'ring: bite', mark: 'triangle: fish seen', bait: 'diamond: bait seen' };
      layerList.append(make('p', Object.keys(kinds).filter((k) => list('Marks').some((m) => m.Kind === k)).map((k) => kinds[k]).join(', '), 'webmap-key'));
    }
    if (l.key === 'tracks') {
      const named = (cut, what) => {
        const names = list('Tracks').filter((t) => (dashes[t.State] || '') === cut).map((t) => t.Name);
        return names.length ? [what + ': ' + names.join(', ')] : [];
      };
      layerList.append(make('p', [...named('', 'plain'), ...named(dashes.crawling, 'dashed'), ...named(dashes.running, 'dotted')].join('; '), 'webmap-key'));
    }
  }
  paintRamp();
};

const paintRamp = () => {
  for (const r of layerList.querySelectorAll('[data-step]')) {
    const a = list('Areas')[r.dataset.step];
    r.setAttribute('fill', dark.matches ? a.Dark : a.Light);
  }
};
