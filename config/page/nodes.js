// Making and changing nodes. Text goes in as text, never as markup; what has not changed is not touched.
const SVG = 'http://www.w3.org/2000/svg';
export function make(name, text, kind) {
  const made = document.createElement(name);
  if (text !== undefined) made.textContent = text;
  if (kind) made.className = kind;
  return made;
}
export function draw(parent, name, attributes, text) {
  const made = document.createElementNS(SVG, name);
  for (const key of Object.keys(attributes)) made.setAttribute(key, attributes[key]);
  if (text !== undefined) made.textContent = text;
  parent.appendChild(made);
  return made;
}
export const say = (node, text) => { if (node.textContent !== text) node.textContent = text; };
export const mark = (node, kind) => { if (node.className !== kind) node.className = kind; };
export const set = (node, key, value) => { if (node.getAttribute(key) !== String(value)) node.setAttribute(key, value); };
export const hide = (node, hidden) => { if (node.hidden !== hidden) node.hidden = hidden; };
