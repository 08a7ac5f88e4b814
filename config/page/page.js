'use strict';
// Draws the snapshot that /live brings. Text goes in as text, never as markup; nothing is sent.
const SVG = 'http://www.w3.org/2000/svg';
const DAY_EVERY_MS = 20000;  // how often the chosen stock's day is asked for while it moves
const LATE_AFTER_MS = 12000;
const find = (id) => document.getElementById(id);
const SHAPES = { inside: '◆', over: '▲', under: '▽', unknown: '·' };
const RANK = { inside: 0, over: 1, under: 1, unknown: 2 };
let latest = null, chosen = null, lastHeard = 0, tries = 0, sort = { key: 'soon', down: false };
const rows = new Map(), days = new Map(), told = new Set();  // days: of each symbol that was looked at

function make(name, text, kind) {
  const made = document.createElement(name);
  if (text !== undefined) made.textContent = text;
  if (kind) made.className = kind;
  return made;
}
function draw(parent, name, attributes, text) {
  const made = document.createElementNS(SVG, name);
  for (const key of Object.keys(attributes)) made.setAttribute(key, attributes[key]);
  if (text !== undefined) made.textContent = text;
  parent.appendChild(made);
  return made;
}
const known = (value) => value !== null && value !== undefined;
const signed = (value, digits) => (value > 0 ? '+' : value < 0 ? '−' : '') + Math.abs(value).toFixed(digits);
const shares = (value) => value >= 1e6 ? (value / 1e6).toFixed(2) + ' M' : value >= 1e4 ? (value / 1e3).toFixed(0) + ' k' : value.toFixed(0);
const count = (many, what) => many + ' ' + what + (many === 1 ? '' : 's');
const clock = (text) => known(text) ? text.slice(11, 19) : '';
const nameOf = (watch) => watch.symbol + '/' + watch.pivot;

// Unsettled odds are rounded to the middle, as in the notices: 0.699 is not the 0.70 from which on they are heavy.
const oddsText = (v) => (v.weight !== 'unsettled' ? v.odds
  : (v.odds > 0.5 ? Math.floor(v.odds * 100 + 1e-7) : Math.ceil(v.odds * 100 - 1e-7)) / 100).toFixed(2);

// --- the board
function soonness(watch) {
  if (!watch.in_force) return 1e9;
  return RANK[watch.side] * 1e6 + (known(watch.distance) ? Math.abs(watch.distance) : 9999) - (watch.volume.odds || 0) / 1000;
}
const COLUMNS = [
  { key: 'symbol', head: 'Symbol', value: (w) => w.symbol },
  { key: 'side', head: 'Side', kind: 'side', value: (w) => w.side },
  { key: 'soon', head: 'Standing', kind: 'place wide', value: soonness },
  { key: 'last', head: 'Last', kind: 'last', value: (w) => w.last, text: (w) => w.last.toFixed(2) },
  { key: 'distance', head: 'To pivot', value: (w) => w.distance, text: (w) => signed(w.distance, 2) + ' %' },
  { key: 'surge', head: 'Surge', kind: 'wide', value: (w) => w.volume.surge, text: (w) => signed(w.volume.surge, 0) + ' %' },
  { key: 'odds', head: 'Odds', value: (w) => w.volume.odds, text: (w) => oddsText(w.volume) },
  { key: 'weight', head: 'Weight', kind: 'wide', value: (w) => w.volume.weight },
];
function makeHeads() {
  for (const column of COLUMNS) {
    const head = make('th', undefined, column.kind === 'last' ? '' : column.kind);
    head.scope = 'col';
    column.button = make('button');
    column.button.type = 'button';
    column.button.addEventListener('click', () => {
      sort = { key: column.key, down: sort.key === column.key ? !sort.down : ['surge', 'odds', 'last'].includes(column.key) };
      drawBoard();
    });
    head.appendChild(column.button);
    column.cell = head;
    find('heads').appendChild(head);
  }
}
function showSort() {
  for (const column of COLUMNS) {
    const here = column.key === sort.key;
    column.cell.setAttribute('aria-sort', here ? (sort.down ? 'descending' : 'ascending') : 'none');
    column.button.textContent = column.head + (here ? (sort.down ? ' ↓' : ' ↑') : '');
  }
  document.querySelector('caption').textContent = sort.key === 'soon' && !sort.down ? 'Watches, those that matter soonest first'
    : 'Watches by ' + COLUMNS.find((c) => c.key === sort.key).head.toLowerCase();
}
function compare(a, b) {
  const value = COLUMNS.find((c) => c.key === sort.key).value;
  const x = value(a), y = value(b);
  if (known(x) !== known(y)) return known(x) ? -1 : 1;  // what is not known comes last, either way
  if (x === y || !known(x)) return nameOf(a) < nameOf(b) ? -1 : 1;
  return (x < y ? -1 : 1) * (sort.down ? -1 : 1);
}
function makeRow(name) {
  const row = make('tr'), cells = {};
  for (const column of COLUMNS) {
    cells[column.key] = make(column.key === 'symbol' ? 'th' : 'td', undefined, column.kind);
    row.appendChild(cells[column.key]);
  }
  cells.symbol.scope = 'row';
  const button = make('button');
  button.type = 'button';
  button.addEventListener('click', () => { chosen = name; drawBoard(); askDay(true); drawDetail(); });
  button.addEventListener('keydown', (event) => {
    const next = event.key === 'ArrowDown' ? row.nextElementSibling : event.key === 'ArrowUp' ? row.previousElementSibling : null;
    if (!next) return;
    event.preventDefault();
    next.querySelector('button').focus();
  });
  cells.symbol.appendChild(button);
  return { row, cells, button };
}
// The standing: the buy range as a box that begins at the pivot's bar, the last price as a diamond.
function drawTrack(cell, watch) {
  cell.textContent = '';
  const svg = draw(cell, 'svg', { viewBox: '0 0 144 28', class: 'track', 'aria-hidden': 'true' });
  const low = known(watch.loss_limit) ? watch.loss_limit : watch.pivot * 0.93;
  const reach = Math.max(watch.range_top - watch.pivot, watch.pivot * 0.02);
  const from = Math.min(low, watch.pivot - reach) - reach * 0.3, to = watch.range_top + reach;
  const x = (price) => 6 + 132 * Math.min(1, Math.max(0, (price - from) / (to - from)));
  draw(svg, 'line', { x1: 6, x2: 138, y1: 14, y2: 14, class: 'axis' });
  draw(svg, 'rect', { x: x(watch.pivot), y: 5, width: x(watch.range_top) - x(watch.pivot), height: 18, class: 'range' });
  draw(svg, 'line', { x1: x(watch.pivot), x2: x(watch.pivot), y1: 2, y2: 26, class: 'pivot' });
  if (known(watch.loss_limit)) draw(svg, 'line', { x1: x(low), x2: x(low), y1: 5, y2: 23, class: 'loss' });
  if (known(watch.last)) draw(svg, 'path', { d: 'M' + x(watch.last) + ' 7l6 7l-6 7l-6 -7z', class: 'here' });
}
function fillRow(kept, watch, name) {
  const many = latest.watches.filter((w) => w.symbol === watch.symbol).length > 1;
  kept.button.textContent = many ? watch.symbol + ' ' + watch.pivot : watch.symbol;
  kept.button.setAttribute('aria-pressed', String(name === chosen));
  kept.row.className = (name === chosen ? 'chosen ' : '') + (watch.in_force ? '' : 'idle');
  kept.cells.side.textContent = watch.in_force ? SHAPES[watch.side] + ' ' + watch.side : '– off today';
  kept.cells.side.className = 'side ' + watch.side;
  drawTrack(kept.cells.soon, watch);
  for (const column of COLUMNS.slice(3))
    kept.cells[column.key].textContent = known(column.value(watch)) ? (column.text || column.value)(watch) : '–';
}
function drawBoard() {
  if (!latest) return;
  showSort();
  const sorted = latest.watches.slice().sort(compare), body = find('rows'), focus = document.activeElement;
  if (!sorted.some((w) => nameOf(w) === chosen)) chosen = sorted.length ? nameOf(sorted[0]) : null;
  const names = new Set(sorted.map(nameOf));
  for (const [name, kept] of rows) if (!names.has(name)) { kept.row.remove(); rows.delete(name); }
  sorted.forEach((watch, place) => {
    const name = nameOf(watch);
    if (!rows.has(name)) rows.set(name, makeRow(name));
    const kept = rows.get(name);
    fillRow(kept, watch, name);
    if (body.children[place] !== kept.row) body.insertBefore(kept.row, body.children[place] || null);
  });
  if (focus && focus !== document.activeElement && body.contains(focus)) focus.focus();
  find('none').hidden = sorted.length > 0;
}

// --- the chosen watch: its day so far comes from the daemon, minute by minute; the newest values from the board
const symbolOf = (name) => name === null ? null : name.slice(0, name.lastIndexOf('/'));
async function askDay(now) {
  const symbol = symbolOf(chosen);
  if (symbol === null || !latest) return;
  const kept = days.get(symbol);
  if (!now && kept && (kept.asking || kept.ticks === latest.counts.ticks || Date.now() - kept.asked < DAY_EVERY_MS)) return;
  const asked = { day: kept ? kept.day : null, asked: Date.now(), ticks: latest.counts.ticks, asking: true };
  days.set(symbol, asked);
  try {
    const answer = await fetch('/day/' + encodeURIComponent(symbol));
    if (answer.ok) asked.day = await answer.json();
  } catch { /* the line to the daemon says that it is away */ }
  asked.asking = false;
  drawDetail();
}
function dayOf(watch) {
  const kept = days.get(watch.symbol), day = kept && kept.day && kept.day.day === latest.day ? kept.day : null;
  const open = Date.parse(latest.open), points = [];
  if (day) day.minute.forEach((minute, i) => points.push({ when: open + minute * 60000, price: day.price[i], so_far: day.volume[i], low: day.low[i], high: day.high[i] }));
  const when = Date.parse(watch.last_time);
  if (known(watch.last) && !Number.isNaN(when) && when >= open && (!points.length || when > points[points.length - 1].when))
    points.push({ when, price: watch.last, so_far: watch.volume.so_far, low: watch.volume.low, high: watch.volume.high });
  const at = (minute) => open + minute * 60000;
  return { points, usual: day ? day.usual.map(([minute, share]) => ({ when: at(minute), share })) : [],
    holes: day ? day.holes.map(([from, to]) => [at(from), at(to)]) : [], marks: day ? day.marks.map((m) => ({ when: at(m.minute), price: m.price, label: m.label })) : [] };
}
// The usual share of the day at a time, between the points of its curve.
function usualAt(usual, when) {
  for (let i = 1; i < usual.length; ++i)
    if (when <= usual[i].when)
      return usual[i - 1].share + (usual[i].share - usual[i - 1].share) * Math.max(0, when - usual[i - 1].when) / (usual[i].when - usual[i - 1].when);
  return 1;
}
function drawHoles(svg, holes, x) {
  for (const [from, to] of holes) draw(svg, 'rect', { x: x(from), width: Math.max(2, x(to) - x(from)), y: 20, height: 212, class: 'blind' });
}
// On a phone the pictures keep letters that can be read: the plot is narrower, not the letters smaller.
const narrow = () => innerWidth < 640;
const edge = () => narrow() ? 262 : 448;  // right end of the plot, in the picture's own units
function frame(figure, title, values, marks) {
  figure.textContent = '';
  const svg = draw(figure, 'svg', { viewBox: narrow() ? '0 0 425 260' : '0 0 625 260', role: 'img', 'aria-label': title });
  let low = Math.min(...values), high = Math.max(...values);
  const room = (high - low) * 0.08 || Math.abs(high) * 0.01 || 1;
  low -= room; high += room;
  const y = (value) => 225 - 205 * (value - low) / (high - low);
  const open = Date.parse(latest.open), close = Date.parse(latest.close);
  const x = (when) => 8 + (edge() - 8) * Math.min(1, Math.max(0, (when - open) / (close - open || 1)));
  draw(svg, 'line', { x1: 8, x2: edge(), y1: 232, y2: 232, class: 'axis' });
  draw(svg, 'text', { x: 8, y: 252 }, known(latest.open) ? latest.open.slice(11, 16) : 'open');
  draw(svg, 'text', { x: edge(), y: 252, 'text-anchor': 'end' }, known(latest.close) ? latest.close.slice(11, 16) : 'close');
  const placed = [];  // labels keep 19 apart, from the top
  for (const mark of marks.sort((a, b) => b.value - a.value)) {
    draw(svg, 'line', { x1: 8, x2: edge(), y1: y(mark.value), y2: y(mark.value), class: mark.kind });
    const at = Math.max(y(mark.value) + 5, placed.length ? placed[placed.length - 1] + 19 : 15);
    placed.push(at);
    draw(svg, 'text', { x: edge() + 14, y: at }, mark.label);
  }
  return { svg, x, y };
}
const path = (points, x, y) => points.map((p, i) => (i ? 'L' : 'M') + x(p.when).toFixed(1) + ' ' + y(p.value).toFixed(1)).join('');
function drawPrice(watch, day) {
  const points = day.points;
  const marks = [{ value: watch.pivot, label: 'pivot ' + watch.pivot.toFixed(2), kind: 'pivot' }];
  if (known(watch.range_top)) marks.push({ value: watch.range_top, label: 'range top ' + watch.range_top.toFixed(2), kind: 'top' });
  if (known(watch.loss_limit)) marks.push({ value: watch.loss_limit, label: 'loss limit ' + watch.loss_limit.toFixed(2), kind: 'loss' });
  const { svg, x, y } = frame(find('price-figure'), 'Price of ' + watch.symbol + ': last ' + (known(watch.last) ? watch.last.toFixed(2) : 'none') + ', ' +
    marks.map((m) => m.label).join(', '), points.map((p) => p.price).concat(marks.map((m) => m.value)), marks);
  if (known(watch.range_top))
    draw(svg, 'rect', { x: 8, width: edge() - 8, y: y(watch.range_top), height: y(watch.pivot) - y(watch.range_top), class: 'range' });
  drawHoles(svg, day.holes, x);
  if (!points.length) return;
  draw(svg, 'path', { d: path(points.map((p) => ({ when: p.when, value: p.price })), x, y), class: 'drawn' });
  for (const mark of day.marks) {
    const sign = draw(svg, 'circle', { cx: x(mark.when), cy: y(mark.price), r: 7, class: 'said' });
    draw(sign, 'title', {}, mark.label);
  }
  const end = points[points.length - 1];
  draw(svg, 'path', { d: 'M' + x(end.when) + ' ' + (y(end.price) - 7) + 'l7 7l-7 7l-7 -7z', class: 'here' });
}
function drawVolume(watch, day) {
  const v = watch.volume, points = day.points, marks = [], values = [0, v.so_far];
  if (known(v.normal)) {
    const needed = v.normal * (1 + v.needed / 100);
    marks.push({ value: v.normal, label: 'normal ' + shares(v.normal), kind: 'axis' });
    marks.push({ value: needed, label: 'needed ' + shares(needed), kind: 'needed' });
  }
  const bandTop = known(v.projected) ? v.high * 1.5 : 0;  // early in the day the interval is wider than the picture
  if (known(v.projected)) values.push(v.low, v.high, ...points.filter((p) => known(p.high)).map((p) => Math.min(p.high, bandTop)));
  const words = 'Volume so far ' + shares(v.so_far) + (known(v.projected) ? ', projected end ' + shares(v.projected) + ', 80 % interval ' +
    shares(v.low) + ' to ' + shares(v.high) : ', not judged');
  const { svg, x, y } = frame(find('volume-figure'), words, values.concat(marks.map((m) => m.value)), marks);
  const judged = points.filter((p) => known(p.low));
  if (judged.length > 1)
    draw(svg, 'path', { class: 'band', d: path(judged.map((p) => ({ when: p.when, value: Math.min(p.high, bandTop) })), x, y) +
      judged.slice().reverse().map((p) => 'L' + x(p.when).toFixed(1) + ' ' + y(Math.min(p.low, bandTop)).toFixed(1)).join('') + 'Z' });
  if (points.length) draw(svg, 'path', { d: path(points.map((p) => ({ when: p.when, value: p.so_far })), x, y), class: 'drawn' });
  drawHoles(svg, day.holes, x);
  if (known(v.normal) && day.usual.length)
    draw(svg, 'path', { d: path(day.usual.map((p) => ({ when: p.when, value: p.share * v.normal })), x, y), class: 'usual' });
  if (known(v.projected)) {
    const from = points.length ? points[points.length - 1] : { when: Date.parse(latest.open), so_far: 0 };
    const now = usualAt(day.usual, from.when), rest = day.usual.filter((p) => p.when > from.when);
    const ahead = rest.map((p) => ({ when: p.when, value: from.so_far + (v.projected - from.so_far) * (p.share - now) / (1 - now || 1) }));
    const course = ahead.length ? ahead : [{ when: Date.parse(latest.close), value: v.projected }];
    draw(svg, 'path', { d: path([{ when: from.when, value: from.so_far }].concat(course), x, y), class: 'projected' });
    draw(svg, 'path', { d: 'M' + (edge() - 6) + ' ' + y(v.low) + 'h12m-6 0V' + y(v.high) + 'm-6 0h12', class: 'interval' });
  }
  find('volume-figure').appendChild(make('figcaption', words));
}
/// The picture of the base, where the daemon has one; asked for once a stock.
function showBase(watch) {
  const figure = find('base-figure'), picture = find('base-picture'), name = watch ? watch.symbol : '';
  if (figure.dataset.symbol === name) return;
  figure.dataset.symbol = name;
  figure.hidden = true;
  picture.removeAttribute('src');
  if (!name) return;
  picture.alt = 'Daily prices and volume of ' + name + ' with the points of its base';
  picture.onload = () => { figure.hidden = picture.naturalWidth < 2; };
  picture.src = '/base/' + encodeURIComponent(name) + '.svg';
}
function drawDetail() {
  const watch = latest && latest.watches.find((w) => nameOf(w) === chosen);
  find('price-figure').hidden = find('volume-figure').hidden = !watch;
  find('detail-title').textContent = watch ? watch.symbol + ' at ' + watch.pivot.toFixed(2) : 'No watch chosen';
  find('detail-words').textContent = '';
  showBase(watch);
  if (!watch) return;
  const v = watch.volume;
  find('detail-words').textContent = (known(watch.last) ? SHAPES[watch.side] + ' ' + watch.side + ', last ' + watch.last.toFixed(2) + ' at ' + clock(watch.last_time) : 'No trade yet') +
    (known(v.odds) ? '; odds of +' + v.needed + ' %: ' + oddsText(v) + ', ' + v.weight : '; volume not judged') + (watch.note ? '. ' + watch.note : '');
  const day = dayOf(watch);
  drawPrice(watch, day);
  drawVolume(watch, day);
  find('day-words').textContent = (day.usual.length && known(v.normal) ? 'Thin line: a normal day. ' : '') + (known(v.projected) ? 'Dashed: on the usual course to the projected end; shaded: its 80 % interval as the day went. ' : '') +
    (day.marks.length ? 'Ring: a notice. ' : '') + (day.holes.length ? 'Grey: the feed was blind.' : '');
}

// --- notices, feeds, channels
const sentWords = (notice) => !notice.deliveries || !notice.deliveries.length ? 'Goes to no channel.'
  : notice.deliveries.map((d) => d.channel + ': ' + d.state + (d.reply && d.state !== 'delivered' ? ' (' + d.reply + ')' : '')).join('; ');
function drawNotices() {
  const list = find('notice-list'), ids = new Set(latest.notices.map((n) => n.id));
  for (const notice of latest.notices.slice().reverse()) {
    if (told.has(notice.id)) continue;
    told.add(notice.id);
    const item = make('li'), more = make('details'), head = make('summary'), when = make('time', clock(notice.time));
    item.dataset.id = notice.id;
    when.dateTime = notice.time;
    head.append(when, notice.title);
    more.append(head, make('p', notice.text));
    more.append(make('p', '', 'sent small'));
    item.appendChild(more);
    list.prepend(item);
  }
  for (const item of list.children) {  // what became of a notice changes after it was told
    const notice = latest.notices.find((n) => n.id === item.dataset.id), words = notice ? sentWords(notice) : '';
    const line = item.querySelector('.sent');
    if (line.textContent !== words) line.textContent = words;
  }
  for (const item of [...list.children]) if (!ids.has(item.dataset.id)) { told.delete(item.dataset.id); item.remove(); }
  find('no-notice').hidden = list.children.length > 0;
}
function fill(list, lines) {
  while (list.children.length > lines.length) list.lastChild.remove();
  lines.forEach((line, place) => {
    const item = list.children[place] || list.appendChild(make('li'));
    if (item.textContent !== line.text) item.textContent = line.text;
    item.className = line.bad ? 'bad' : '';
  });
}
function drawWays() {
  fill(find('feeds'), latest.feeds.map((f) => ({ bad: f.state === 'stopped' || f.state === 'failed', text: 'Feed ' + f.name + ' (' + f.kind + '): ' + f.state + (f.carrying ? ', carrying' : '') +
    (f.text ? ', ' + f.text : '') + '; ' + f.ticks + ' ticks' + (known(f.lag_seconds) ? ', ' + (f.lag_seconds > 3600 ? 'a recorded or late day' : 'lag ' + f.lag_seconds.toFixed(1) + ' s') : '') +
    (known(f.silent_seconds) ? ', silent ' + f.silent_seconds.toFixed(0) + ' s' : '') + (f.malformed ? ', ' + f.malformed + ' unreadable' : '') })));
  fill(find('channels'), latest.channels.map((c) => ({ bad: c.dead > 0, text: 'Channel ' + c.name + ' (' + c.kind + '): ' + c.state + '; ' + c.delivered + ' delivered, ' + c.waiting + ' waiting' +
    (c.retried ? ', ' + c.retried + ' tried again' : '') + (c.dead ? ', ' + c.dead + ' given up' : '') + (c.expired ? ', ' + c.expired + ' too old' : '') + (c.unknown ? ', ' + c.unknown + ' unsure' : '') })));
  const n = latest.counts;
  find('counts').textContent = count(n.ticks, 'tick') + ', ' + count(n.notices, 'notice') + ', ' + count(n.holes, 'hole') + (latest.journal_trouble ? '. Journal: ' + latest.journal_trouble : '');
  find('counts').className = latest.journal_trouble ? 'bad' : '';
  find('session').textContent = (latest.rehearsal ? 'REHEARSAL, a past day is played: ' : '') + latest.day + ', ' + latest.session + (latest.half_day ? ' (half-day)' : '') + '; market ' + (latest.trend === 'unknown' ? 'not set' : latest.trend);
}

// --- the line to the daemon
function showLine() {
  const late = !lastHeard || Date.now() - lastHeard > LATE_AFTER_MS;
  const words = late ? (lastHeard ? 'NOT LIVE: nothing from the daemon since ' + new Date(lastHeard).toTimeString().slice(0, 8) : 'connecting') : 'live';
  find('line').className = late && lastHeard ? 'late' : '';
  document.querySelector('#line .shape').textContent = late ? '◌' : '●';
  if (find('line-text').textContent !== words) find('line-text').textContent = words;
}
function take(text) {
  latest = JSON.parse(text);
  lastHeard = Date.now();
  drawBoard(); askDay(false); drawDetail(); drawNotices(); drawWays(); showLine();
}
function connect() {
  const socket = new WebSocket('ws://' + location.host + '/live');
  socket.addEventListener('message', (event) => { tries = 0; take(event.data); });
  socket.addEventListener('close', () => setTimeout(connect, Math.min(15000, 500 * 2 ** tries++)));
}
makeHeads();
showSort();
connect();
setInterval(showLine, 1000);
addEventListener('resize', () => { if (latest) drawDetail(); });
