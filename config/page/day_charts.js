// The chosen stock's day: its price with pivot, range and loss limit, and its volume with what is needed and projected.
import { find, known, state } from './state.js';
import { draw, say } from './nodes.js';
import { clock, price, shares, signed } from './text.js';

const HOUR = 3600000;
// On a phone the pictures keep letters that can be read: the plot is narrower, not the letters smaller.
const narrow = () => innerWidth < 640;
const edge = () => narrow() ? 262 : 448;  // right end of the plot, in the picture's own units
const paper = () => narrow() ? 425 : 625;
// A label of six digits is narrower rather than cut.
function fit(label, room) {
  if (label.getComputedTextLength() <= room) return;
  label.setAttribute('textLength', room);
  label.setAttribute('lengthAdjust', 'spacingAndGlyphs');
}
// Where a base stands beside the day there is less height for each.
const floor = () => document.getElementById('pictures').className === 'with-base' && !narrow() ? 140 : 225;
const TOP = 20, LABEL = 19;
const axis = () => floor() + 7;

export function dayOf(watch) {
  const kept = state.days.get(watch.symbol), day = kept && kept.day && kept.day.day === state.latest.day ? kept.day : null;
  const open = Date.parse(state.latest.open), at = (minute) => open + minute * 60000, points = [];
  if (day && day.minute) day.minute.forEach((minute, i) => points.push({ when: at(minute), price: day.price[i], so_far: day.volume[i], low: day.low[i], high: day.high[i] }));
  const when = Date.parse(watch.last_time), v = watch.volume;
  if (known(watch.last) && !Number.isNaN(when) && when >= open && (!points.length || when > points[points.length - 1].when))
    points.push({ when, price: watch.last, so_far: v.so_far, low: v.low, high: v.high });
  return { points, usual: day && day.usual ? day.usual.map(([minute, share]) => ({ when: at(minute), share })) : [],
    holes: day && day.holes ? day.holes.map(([from, to]) => [at(from), at(to)]) : [], marks: day && day.marks ? day.marks.map((m) => ({ when: at(m.minute), price: m.price, label: m.label })) : [] };
}
// The usual share of the day at a time, between the points of its curve.
function usualAt(usual, when) {
  for (let i = 1; i < usual.length; ++i)
    if (when <= usual[i].when)
      return usual[i - 1].share + (usual[i].share - usual[i - 1].share) * Math.max(0, when - usual[i - 1].when) / (usual[i].when - usual[i - 1].when);
  return 1;
}
// Where labels stand that want to be at these heights: in order, a line apart, all of them inside.
export function apart(wanted, lowest) {
  const placed = [];
  wanted.forEach((at) => placed.push(Math.max(at, placed.length ? placed[placed.length - 1] + LABEL : 15)));
  for (let i = placed.length - 1, most = lowest; i >= 0; --i, most = placed[i + 1] - LABEL) placed[i] = Math.min(placed[i], most);
  return placed;
}
function drawHours(svg, x, open, close, offset) {
  draw(svg, 'line', { x1: 8, x2: edge(), y1: axis(), y2: axis(), class: 'axis' });
  const step = (close - open > 4 * HOUR && narrow() ? 2 : 1) * HOUR;
  for (let hour = Math.ceil((open + offset) / step) * step - offset; hour <= close; hour += step) {
    draw(svg, 'line', { x1: x(hour), x2: x(hour), y1: axis(), y2: axis() + 5, class: 'axis' });
    draw(svg, 'text', { x: Math.max(28, x(hour)), y: axis() + 20, 'text-anchor': 'middle' }, new Date(hour + offset).toISOString().slice(11, 16));
  }
}
function frame(figure, title, values, marks) {
  const drawing = figure.querySelector('.drawing');
  drawing.textContent = '';
  const svg = draw(drawing, 'svg', { viewBox: `0 0 ${paper()} ${floor() + 35}`, role: 'img', 'aria-label': title });
  let low = Math.min(...values), high = Math.max(...values);
  const room = (high - low) * 0.08 || Math.abs(high) * 0.01 || 1;
  low -= room; high += room;
  const y = (value) => floor() - (floor() - TOP) * (value - low) / (high - low);
  const open = Date.parse(state.latest.open), close = Date.parse(state.latest.close);
  const x = (when) => 8 + (edge() - 8) * Math.min(1, Math.max(0, (when - open) / (close - open || 1)));
  if (!Number.isNaN(open)) drawHours(svg, x, open, close, state.offset);
  marks.sort((a, b) => b.value - a.value);
  const places = apart(marks.map((mark) => y(mark.value) + 5), axis());
  marks.forEach((mark, i) => {
    draw(svg, 'line', { x1: 8, x2: edge(), y1: y(mark.value), y2: y(mark.value), class: mark.kind });
    fit(draw(svg, 'text', { x: edge() + 14, y: places[i] }, mark.label), paper() - edge() - 16);
  });
  return { svg, x, y };
}
function drawHoles(svg, holes, x) {
  for (const [from, to] of holes) draw(svg, 'rect', { x: x(from), width: Math.max(2, x(to) - x(from)), y: TOP, height: axis() - TOP, class: 'blind' });
}
const path = (points, x, y) => points.map((p, i) => (i ? 'L' : 'M') + x(p.when).toFixed(1) + ' ' + y(p.value).toFixed(1)).join('');

export function drawPrice(watch, day) {
  const points = day.points, marks = [{ value: watch.pivot, label: 'pivot ' + price(watch.pivot), kind: 'pivot' }];
  if (known(watch.range_top)) marks.push({ value: watch.range_top, label: 'range top ' + price(watch.range_top), kind: 'top' });
  if (known(watch.loss_limit)) marks.push({ value: watch.loss_limit, label: 'loss limit ' + price(watch.loss_limit), kind: 'loss' });
  const title = 'Price of ' + watch.symbol + ': last ' + (known(watch.last) ? price(watch.last) : 'none') + ', ' + marks.map((m) => m.label).join(', ');
  const { svg, x, y } = frame(find('price-figure'), title, points.map((p) => p.price).concat(marks.map((m) => m.value)), marks);
  if (known(watch.range_top))
    draw(svg, 'rect', { x: 8, width: edge() - 8, y: y(watch.range_top), height: y(watch.pivot) - y(watch.range_top), class: 'range' });
  drawHoles(svg, day.holes, x);
  if (!points.length) return;
  draw(svg, 'path', { d: path(points.map((p) => ({ when: p.when, value: p.price })), x, y), class: 'drawn' });
  for (const one of day.marks) draw(draw(svg, 'circle', { cx: x(one.when), cy: y(one.price), r: 7, class: 'said' }), 'title', {}, one.label);
  const end = points[points.length - 1];
  draw(svg, 'path', { d: 'M' + x(end.when) + ' ' + (y(end.price) - 7) + 'l7 7l-7 7l-7 -7z', class: 'here' });
}

// After the close there is nothing to project: what came, against normal.
export const hasEnded = (snapshot) => snapshot.session === 'closed' && known(snapshot.close) && Date.parse(snapshot.time) >= Date.parse(snapshot.close);
function volumeWords(v, ended) {
  if (ended && v.so_far > 0) return 'The day ended at ' + shares(v.so_far) + (known(v.normal) ? ', ' + signed((v.so_far / v.normal - 1) * 100, 0) + ' % on normal' : '');
  return 'Volume so far ' + shares(v.so_far) + (known(v.projected) ? ', heading for ' + shares(v.projected) +
    (v.high > v.low ? ' (' + shares(v.low) + ' to ' + shares(v.high) + ')' : '') : ', not judged');
}
function drawProjected(svg, v, day, x, y) {
  const points = day.points, from = points.length ? points[points.length - 1] : { when: Date.parse(state.latest.open), so_far: 0 };
  const now = usualAt(day.usual, from.when), rest = day.usual.filter((p) => p.when > from.when);
  const ahead = rest.map((p) => ({ when: p.when, value: from.so_far + (v.projected - from.so_far) * (p.share - now) / (1 - now || 1) }));
  const course = ahead.length ? ahead : [{ when: Date.parse(state.latest.close), value: v.projected }];
  draw(svg, 'path', { d: path([{ when: from.when, value: from.so_far }].concat(course), x, y), class: 'projected' });
  if (v.high > v.low) draw(svg, 'path', { d: 'M' + (edge() - 6) + ' ' + y(v.low) + 'h12m-6 0V' + y(v.high) + 'm-6 0h12', class: 'interval' });
}
export function drawVolume(watch, v, day) {
  const points = day.points, marks = [], values = [0, v.so_far], ended = hasEnded(state.latest), projected = known(v.projected) && !ended;
  if (known(v.normal)) {
    const needed = v.normal * (1 + v.needed / 100);
    marks.push({ value: v.normal, label: 'normal ' + shares(v.normal), kind: 'axis' }, { value: needed, label: 'needed ' + shares(needed), kind: 'needed' });
  }
  const bandTop = projected ? v.high * 1.5 : 0;  // early in the day the interval is wider than the picture
  if (projected) values.push(v.low, v.high, ...points.filter((p) => known(p.high)).map((p) => Math.min(p.high, bandTop)));
  const words = volumeWords(v, ended);
  const { svg, x, y } = frame(find('volume-figure'), words, values.concat(marks.map((m) => m.value)), marks);
  const judged = projected ? points.filter((p) => known(p.low)) : [];
  if (judged.length > 1)
    draw(svg, 'path', { class: 'band', d: path(judged.map((p) => ({ when: p.when, value: Math.min(p.high, bandTop) })), x, y) +
      judged.slice().reverse().map((p) => 'L' + x(p.when).toFixed(1) + ' ' + y(Math.min(p.low, bandTop)).toFixed(1)).join('') + 'Z' });
  if (points.length) draw(svg, 'path', { d: path(points.map((p) => ({ when: p.when, value: p.so_far })), x, y), class: 'drawn volume' });
  drawHoles(svg, day.holes, x);
  if (known(v.normal) && day.usual.length)
    draw(svg, 'path', { d: path(day.usual.map((p) => ({ when: p.when, value: p.share * v.normal })), x, y), class: 'usual' });
  if (projected) drawProjected(svg, v, day, x, y);
  say(find('volume-words'), words);
}
export const lastWords = (watch) => known(watch.last) ? ', last ' + price(watch.last) + ' at ' + clock(watch.last_time)
  : known(watch.last_close) ? ', last close ' + price(watch.last_close) : ', no trade yet';
