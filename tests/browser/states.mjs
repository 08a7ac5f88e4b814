// Snapshots as a daemon would send them, of invented stocks, for the states that a page must show: made by rule, so that a test
// can ask for any of them in a moment. The page's files are served from the sources.
import fs from 'node:fs';
import path from 'node:path';

const OPEN = '2026-11-27T09:30:00-05:00', CLOSE = '2026-11-27T16:00:00-05:00', NOW = '2026-11-27T11:15:00-05:00';
const NAMES = ['KLVN', 'NIVO', 'HALQ', 'QUOL', 'ORRI', 'TAMBU', 'VESQ', 'PLEM', 'DRAX', 'FYNN', 'GOMBO', 'WEXI', 'ZURL'];
const nameOf = (n) => NAMES[n % NAMES.length] + (n < NAMES.length ? '' : String.fromCharCode(65 + Math.floor(n / NAMES.length)));

export function watch(symbol, pivot, percent, more = {}) {
  const last = Math.round(pivot * (100 + percent)) / 100;
  const side = percent < 0 ? 'under' : percent <= 5 ? 'inside' : 'over', odds = more.odds ?? 0.55;
  const volume = { so_far: 500000, normal: 1300000, projected: 1900000, low: 1500000, high: 2400000, surge: 46, needed: 40, odds,
    weight: odds >= 0.7 ? 'heavy' : odds <= 0.3 ? 'light' : 'unsettled', ...more.volume };
  const made = { symbol, pivot, range_top: Math.round(pivot * 105) / 100, loss_limit: Math.round(pivot * 92) / 100, last, last_close: null,
    day_high: Math.max(last, pivot * 0.99), distance: percent, side, armed: side === 'under', in_force: true, from: null, until: null,
    last_time: '2026-11-27T11:14:57-05:00', note: '', list: 'weekend', report: null, ...more };
  return { ...made, volume };
}
// Every standing that there is among the first thirteen.
export function watches(many) {
  const percents = [1.2, -0.15, -4, 3.8, -2.2, 6.4, -0.9, 0.4, -7.5, -1.4, -3, 2.1, -5.5], odds = [0.94, 0.5, 0.1, 0.22, 0.6, 0.999, 0.4, 0.55, 0.002, 0.71, 0.3, 0.86, 0.45];
  return Array.from({ length: many }, (_, n) => watch(nameOf(n), 20 + (n * 7.35) % 300, percents[n % 13] - Math.floor(n / 13) * 0.05,
    { odds: odds[n % 13], ...(n === 4 ? { day_high: 400, armed: false } : n === 7 ? { last: 71.2, distance: -0.35 } : {}) }));
}
const feed = (more) => ({ name: 'main', kind: 'stream', state: 'up', text: '', carrying: true, ticks: 120345, malformed: 0, reconnects: 0, lag_seconds: 0.2, silent_seconds: 0.4, ...more });
const notice = (n, title) => ({ id: 'n' + n, time: `2026-11-27T1${n > 4 ? 1 : 0}:${n > 4 ? '05' : 10 + 7 * n}:07-05:00`, title, text: title + '\nvolume 612k, heading for 2.30M', deliveries: [{ channel: 'desktop', state: 'delivered', reply: '' }] });
export const notices = [notice(5, 'KLVN crossed 20.00, heavy, odds 0.94'), notice(4, 'ORRI fell under 49.40'), notice(3, 'QUOL crossed 42.05, light, odds 0.22'), notice(2, 'TAMBU left the range 56.75')];
export const snapshot = (more = {}) => ({ time: NOW, version: '1', session: 'open', day: '2026-11-27', half_day: false, open: OPEN, close: CLOSE, next_open: null,
  rehearsal: false, trend: 'up', watches: watches(13), feeds: [feed({})], channels: [{ name: 'desktop', kind: 'desktop', state: 'up', delivered: 4, retried: 0, dead: 0, expired: 0, unknown: 0, waiting: 0, last_reply: '' }],
  notices, recording: null, counts: { ticks: 120345, notices: 4, holes: 0, journal_waiting: 0, journal_failures: 0 }, journal_trouble: '', ...more });

// What real lists hold at their edges: long symbols, two pivots of one, six digits and a cent, volumes of Hong Kong, words
// from right to left (Hebrew), a note of a page, trades of an hour ago and of another day.
const LONG_NOTE = 'cup with handle, eleven weeks; '.repeat(60), RIGHT_TO_LEFT = '\u05e9\u05d5\u05e7 48.35 \u05e2\u05d5\u05dc\u05d4 (\u202e\u05d0\u05d1\u05d2)';
export const wild = () => [
  watch('QUELLINGTONS', 123456.78, 1.2, { odds: 0.94, note: LONG_NOTE, last_time: '2026-11-27T09:31:02-05:00', volume: { so_far: 12.34e9, normal: 99.9e9, projected: 250.5e9, low: 180.25e9, high: 310.75e9, surge: 1234.5 } }),
  watch('QUELLINGTONS', 223456.78, -44.1, { odds: 0.005, last_time: '2026-11-27T09:31:02-05:00', volume: { so_far: 12.34e9, normal: 99.9e9, surge: -99.5 } }),
  watch('NIVO', 0.0123, -0.4, { last: 0.01225, range_top: 0.012915, loss_limit: 0.011316, day_high: 0.0122, odds: 0.5, note: RIGHT_TO_LEFT, volume: { so_far: 8.1e9, normal: 2.2e9 } }),
  watch('WWWWWWWWWWWW', 999999.99, 4.9, { odds: 0.3, last_time: '2026-11-24T15:59:59-05:00', note: 'W'.repeat(300) }),
  watch('HALQ', 0.000123, 6.2, { last: 0.000131, range_top: 0.00013, loss_limit: 0.000113, day_high: 0.000131, odds: 0.999, last_time: '2026-11-27T10:02:00-05:00' }),
];

const closed = { time: '2026-11-28T12:00:00-05:00', session: 'closed', day: '2026-11-28', open: null, close: null, next_open: '2026-11-30T09:30:00-05:00', notices: [] };
const unjudged = { projected: null, low: null, high: null, surge: null, odds: null, weight: 'unknown', so_far: 0 };
export const STATES = {
  ordinary: snapshot(),
  forty: snapshot({ watches: watches(40) }),
  many: snapshot({ watches: watches(200) }),
  down: snapshot({ feeds: [feed({ state: 'down', carrying: false, text: 'connection refused', silent_seconds: 75 })] }),
  silent: snapshot({ feeds: [feed({ carrying: false, silent_seconds: 42 })] }),
  delayed: snapshot({ feeds: [feed({ lag_seconds: 900 })] }),
  unkept: snapshot({ journal_trouble: 'disk full; tried again every 5 s' }),
  refused: snapshot({ configuration: { read: '2026-11-27T11:02:09-05:00', refused: 'weekend.toml:12:9: watch "KLVN": pivot: found -3, expected a price above 0 (and 2 more; brimwatch check lists all)', warnings: [] } }),
  warned: snapshot({ configuration: { read: '2026-11-27T09:02:09-05:00', refused: null, warnings: Array.from({ length: 7 }, (_, n) => `brimwatch.toml:${n + 3}:1: [history]: daily: there is no directory "/srv/daily-${n}"`) } }),
  rehearsal: snapshot({ rehearsal: true }),
  falling: snapshot({ trend: 'down' }),
  closed: snapshot({ ...closed, watches: watches(12).map((w) => ({ ...w, side: 'unknown', last: null, last_time: null, day_high: null, distance: null, armed: true, last_close: w.last, volume: { ...w.volume, ...unjudged } })) }),
  evening: snapshot({ time: '2026-11-27T17:00:00-05:00', session: 'closed', next_open: '2026-11-30T09:30:00-05:00', watches: watches(12).map((w) => ({ ...w, last_time: '2026-11-27T15:59:58-05:00', volume: { ...w.volume, so_far: 1900000, low: 1900000, high: 1900000 } })) }),
  standby: snapshot({ shared: { on: true, name: 'attic', role: 'standing by', speaker: 'cellar', speaks_since: '2026-11-27T09:31:05-05:00', silent_seconds: 0.2, answers_waiting: 0, members: [{ name: 'attic' }, { name: 'cellar' }] } }),
  answered: snapshot({ watches: watches(13).map((w, n) => n === 0 ? { ...w, muted_until: '2026-11-27T12:15:00-05:00', bought: 19.5, on_bought: 3.8, shares: 200, loss_limit: 17.94 } : n === 1 ? { ...w, muted_under_pivot: true, added: true } : w) }),
  wild: snapshot({ watches: wild() }),
  alone: snapshot({ shared: { on: true, role: 'alone', speaker: '' } }),
  pastDay: snapshot({ feeds: [feed({ lag_seconds: 3 * 86400 })] }),
  lists: snapshot({ watches: watches(13).map((w, n) => ({ ...w, list: n % 3 ? 'weekend' : 'holdings', report: n < 3 ? `2026-12-0${3 - n}` : n === 4 ? '2027-02-01' : null })) }),
  based: snapshot({ base: '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 960 788" width="960" height="788"><rect width="960" height="788" fill="white" stroke="#222222"/><text x="16" y="40" font-size="18">KLVN: cup with handle, pivot 20.00</text></svg>' }),
  empty: snapshot({ watches: [], notices: [] }),
};

function dayOf(one) {
  const minute = [], price = [], volume = [], nothing = [];
  for (let n = 0; n <= 105; ++n) {
    minute.push(n);
    price.push(Math.round(100 * ((one.last ?? one.last_close) * (1 - 0.02 * (1 - n / 105)) + one.pivot * 0.004 * Math.sin(n / 6 + one.pivot))) / 100);
    volume.push(n * 4700);
    nothing.push(null);
  }
  return { symbol: one.symbol, day: '2026-11-27', session_minutes: 390, open_minute: 570, minute, price, volume, projected: nothing,
    low: minute.map((n) => 1500000 - (105 - n) * 4000), high: minute.map((n) => 2400000 + (105 - n) * 9000), usual: [[0, 0], [60, 0.25], [330, 0.8], [390, 1]], holes: [], marks: [{ minute: 70, price: one.pivot, label: 'crossed 10:40' }] };
}
const TYPES = { '.js': 'text/javascript', '.css': 'text/css', '.html': 'text/html' };
// Serves the page of `folder` to `page`, with what `shown()` gives as the daemon's snapshot; `say()` sends it again.
export async function serve(page, folder, shown) {
  let line = null;
  const body = (route, json) => route.fulfill({ contentType: 'application/json', body: JSON.stringify(json) });
  await page.route('http://brim.test/**', (route) => {
    const { pathname } = new URL(route.request().url()), file = path.join(folder, pathname === '/' ? 'page.html' : pathname.slice(1));
    const now = shown(), known = now.session === 'closed' && !now.open ? [] : now.watches;
    if (pathname === '/device') return body(route, { right: 'none' });
    if (pathname === '/days') return body(route, { day: now.day, stocks: Object.fromEntries(known.map((w) => [w.symbol, { minute: dayOf(w).minute, price: dayOf(w).price, move: w.pivot * 0.001, usual: 0.36 }])) });
    if (pathname.startsWith('/day/')) return body(route, known.length ? dayOf(now.watches.find((w) => w.symbol === decodeURIComponent(pathname.slice(5)))) : {});
    if (pathname.startsWith('/base/')) return route.fulfill({ contentType: 'image/svg+xml', body: now.base || '<svg xmlns="http://www.w3.org/2000/svg" width="1" height="1"/>' });
    return route.fulfill({ contentType: TYPES[path.extname(file)], body: fs.readFileSync(file, 'utf8') });
  });
  await page.routeWebSocket('ws://brim.test/live', (socket) => { line = socket; socket.send(JSON.stringify(shown())); });
  return { say: () => line.send(JSON.stringify(shown())), cut: () => line.close() };
}
