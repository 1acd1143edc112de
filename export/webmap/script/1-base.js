// What all the others use. The files of this directory are put together in the order of
// their names, inside one function. What is shown comes from the data block; texts reach
// the page by textContent alone, so that none can act as markup.

const L = window.L.noConflict();
const figure = document.getElementById('webmap');
const live = figure.querySelector('.webmap-live');
const part = (name) => live.querySelector('.webmap-' + name);
const data = JSON.parse(document.getElementById('webmap-data').textContent);
const dark = matchMedia('(prefers-color-scheme: dark)');
const calm = matchMedia('(prefers-reduced-motion: reduce)');
const perM = 10; // decimetres in a metre

const colour = (name) => getComputedStyle(figure).getPropertyValue('--wm-' + name).trim();
let ink = {}; // colours of the theme, by name
const readColours = () => {
  ink = {};
  for (const name of ['ink', 'card', 'zone', 'drift', 'casing', 'contour', 'track', 'halo', 'mark', 'edge', 'dot']) ink[name] = colour(name);
};

// Leaflet wants north before east.
const places = (flat) => {
  const out = [];
  for (let i = 0, x = 0, y = 0; i < flat.length; i += 2) {
    x += flat[i];
    y += flat[i + 1];
    out.push([y / perM, x / perM]);
  }
  return out;
};

const make = (tag, text, cls) => {
  const e = document.createElement(tag);
  if (text !== undefined) e.textContent = text;
  if (cls) e.className = cls;
  return e;
};
const svg = (tag, attributes) => {
  const e = document.createElementNS('http://www.w3.org/2000/svg', tag);
  for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
  return e;
};

const list = (name) => data[name] || [];

// The map, its canvases (the lower for water, the upper for what lies on it), and the thing
// whose card is open and the one that is pointed at in a list.
let map, under, over, picked = null, hot = null;
const box = part('map');
const coarse = matchMedia('(pointer: coarse)').matches;
const eased = () => (calm.matches ? { animate: false } : {});
