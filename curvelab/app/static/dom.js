// Small helpers. Text goes in as text, never as HTML.

const h = (tag, attributes = {}, ...children) => {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else node.setAttribute(name, value === true ? "" : value);
  }
  node.append(...children);
  return node;
};

const svgNode = (name, attributes) => {
  const node = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  return node;
};

let numbered = 0;
const unique = () => `c${(numbered += 1)}`;

// A number as the server prints it, for the moment until its own text arrives.
const printed = (number) => number.toLocaleString("en-US", { maximumFractionDigits: 2 }).replace("-", "−");

// Every stop of a slider, from its ends and steps; a value between two stops keeps a place of its own.
const stopsOf = ({ low, steps }, value) => {
  const stops = [low];
  for (const [end, step] of steps) {
    const start = stops[stops.length - 1];
    const count = Math.round((end - start) / step);
    for (let i = 1; i <= count; i += 1) stops.push(Number((start + step * i).toFixed(9)));
  }
  const near = stops.findIndex((stop) => Math.abs(stop - value) < 1e-6);
  if (near < 0) {
    stops.push(value);
    stops.sort((a, b) => a - b);
  }
  return stops;
};
