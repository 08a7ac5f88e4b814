// The status page in headless Chromium, served by a real daemon on a pipe. Usage: node page_test.mjs BRIMWATCH.
// Waits on what the page shows, with deadlines. Screenshots go to the working folder, to be looked at.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import http from 'node:http';
import os from 'node:os';
import path from 'node:path';
import { addressOf, complaintsOf, faults, launch, startDaemon, until as waitUntil } from './kit.mjs';

const program = process.argv[2], where = fs.mkdtempSync(path.join(os.tmpdir(), 'brimwatch-page-'));
const WATCHES = [['KLVN', 48.35, 1300000], ['ORRI', 112.5, 800000], ['TAMBU', 23.1, 2400000], ['VESQ', 71.9, 500000]];
const fifo = path.join(where, 'ticks');
execFileSync('mkfifo', [fifo]);
// An advance and six weeks of rest under 48.25, so that KLVN has a base.
fs.mkdirSync(path.join(where, 'history'));
const bars = ['date,open,high,low,close,volume'];
for (let n = 0, day = new Date('2026-01-05'); n < 190; ++n, day.setUTCDate(day.getUTCDate() + (day.getUTCDay() === 5 ? 3 : 1))) {
  const rest = n - 158, close = rest < 0 ? 32 + 16 * n / 158 : 48 - 3.4 * Math.abs(Math.sin(rest / 5)) - 0.4;
  bars.push([day.toISOString().slice(0, 10), close, rest === 0 ? 48.25 : Math.min(close * 1.004, 48.2), close * 0.996, close]
    .map((value) => typeof value === 'number' ? value.toFixed(2) : value).join(',') + ',' + (rest < 0 ? 1300000 : 800000));
}
fs.writeFileSync(path.join(where, 'history', 'KLVN.csv'), bars.join('\n') + '\n');
const { child: daemon, log, ended } = startDaemon(program, where, `
[market]
trend = "up"
[page]
on = true
port = 0
[history]
daily = "history"
[feed]
kind = "pipe"
past_days = "tell"
command = ["/bin/cat", "${fifo}"]
[[channel]]
name = "file"
kind = "command"
command = ["/bin/sh", "-c", "cat > /dev/null"]
` + WATCHES.map(([symbol, pivot, normal]) => `[[watch]]
symbol = "${symbol}"
pivot = ${pivot}
normal_volume = ${normal}
note = "<img src=x onerror=document.title=1>"
`).join(''));
const pipe = fs.createWriteStream(fifo, { flags: 'r+' });
let second = 0;
function tick(symbol, price, size = 5000) {
  const clock = [10 + Math.floor(second / 3600), Math.floor(second / 60) % 60, second % 60].map((n) => String(n).padStart(2, '0')).join(':');
  pipe.write(JSON.stringify({ time: `2026-10-14T${clock}-04:00`, symbol, price: price.toFixed(2), size }) + '\n');
}
const until = (what, condition) => waitUntil(what, condition, () => log.text);
const ask = (port, route, host) => new Promise((done, fail) => http.get({ host: '127.0.0.1', port, path: route, headers: { Host: host } },
  (answer) => { let body = ''; answer.on('data', (bytes) => { body += bytes; }); answer.on('end', () => done({ status: answer.statusCode, type: answer.headers['content-type'], body })); }).on('error', fail));
const ticksOf = (page) => page.evaluate(async () => (await import('/state.js')).state.latest.counts.ticks);
const symbols = (page) => page.$$eval('#rows th button', (all) => all.map((one) => one.textContent));

let browser;
try {
  const address = await addressOf(log), port = Number(new URL(address).port);
  browser = await launch();
  const page = await browser.newPage({ viewport: { width: 1400, height: 950 }, colorScheme: 'light' });
  const complaints = complaintsOf(page), strangers = [];
  page.on('request', (request) => { if (!request.url().startsWith(address) && !request.url().startsWith('data:')) strangers.push(request.url()); });
  await page.goto(address);

  for (const [symbol, pivot] of WATCHES) tick(symbol, pivot * 0.97);
  await until('the board to fill', async () => (await symbols(page)).length === 4);
  assert.equal(await page.$$eval('#notice-list li', (all) => all.length), 0);

  // KLVN crosses; the others walk near and far. A step a second of the feed's time, as the page draws once a second.
  for (let step = 0; step < 8; ++step) {
    second += 600;
    const sent = await ticksOf(page);
    tick('KLVN', 47.6 + step * 0.14, 30000 + step * 9000);
    tick('ORRI', 111 - step * 0.5, 9000);
    tick('TAMBU', 22.7 + step * 0.03, 60000);
    tick('VESQ', 70.0 + step * 0.1, 4000);
    await until('the page to follow', async () => await ticksOf(page) > sent);
  }
  await until('the notice', () => page.$$eval('#notice-list li', (all) => all.some((one) => one.textContent.includes('KLVN'))));
  await until('KLVN on top', async () => (await symbols(page))[0] === 'KLVN');
  assert.match(await page.textContent('#rows tr:first-child td.side'), /inside/);
  assert.equal(await page.getAttribute('#notice-list', 'aria-live'), 'polite');

  await until('what became of the notice', () => page.$$eval('#notice-list .sent', (all) => all.some((one) => one.textContent === 'file: delivered')));

  // A page that is opened now knows the day before it was opened, with the usual course of the volume.
  const later = await browser.newPage({ viewport: { width: 1400, height: 950 } });
  await later.goto(address);
  await until('the day so far', () => later.evaluate(async () => { const d = (await import('/state.js')).state.days.get('KLVN'); return d && d.day && d.day.minute.length >= 8; }));
  assert.equal(await later.evaluate(async () => (await import('/state.js')).state.chosen.split('/')[0]), 'KLVN');
  await until('the usual course', () => later.$('#volume-figure .usual'));
  assert.equal(await later.$$eval('#price-figure .said', (all) => all.length), 1);
  assert.ok(await later.$eval('#price-figure .drawn', (line) => line.getAttribute('d').split('L').length >= 8));
  await later.close();
  assert.equal((await ask(port, '/day/NOBODY', `127.0.0.1:${port}`)).body, '{}\n');

  // Sorting says what it did; by keyboard alone.
  await page.focus('#heads th:first-child button');
  await page.keyboard.press('Enter');
  assert.deepEqual(await symbols(page), ['KLVN', 'ORRI', 'TAMBU', 'VESQ']);
  await page.keyboard.press('Enter');
  assert.deepEqual(await symbols(page), ['VESQ', 'TAMBU', 'ORRI', 'KLVN']);
  assert.equal(await page.getAttribute('#heads th:first-child', 'aria-sort'), 'descending');
  await page.focus('#rows tr:first-child button');
  await page.keyboard.press('ArrowDown');
  await page.keyboard.press('Enter');
  assert.match(await page.textContent('#detail-title'), /TAMBU/);
  assert.notEqual(await page.evaluate(() => getComputedStyle(document.activeElement).outlineStyle), 'none');
  assert.match(await page.title(), /Brimwatch$/, 'a note was taken as markup');

  await page.click('#heads th:nth-child(3) button');
  assert.equal(await page.isVisible('#base-figure'), false, 'TAMBU has no picture of a base');
  await page.click('#rows th button >> text=KLVN');
  await until('the picture of the base', () => page.isVisible('#base-figure'));
  assert.ok(await page.$eval('#base-picture', (image) => image.naturalWidth) > 300);
  // Its letters as this browser lays them out: none over another, and large enough where they stand. A box of SVG holds a line's
  // height, of which letters fill three quarters.
  const drawn = await browser.newPage();
  await drawn.goto(address + 'base/KLVN.svg');
  const words = await drawn.$$eval('text', (all) => all.map((one) => { const b = one.getBBox(), spare = b.height / 8; return { words: one.textContent, size: Number(one.getAttribute('font-size')), left: b.x + 1, right: b.x + b.width - 1, top: b.y + spare, bottom: b.y + b.height - spare }; }));
  assert.ok(words.length > 30, words.length + ' words');
  words.forEach((a, i) => words.slice(i + 1).forEach((b) => assert.ok(a.right <= b.left || b.right <= a.left || a.bottom <= b.top || b.bottom <= a.top, `${a.words} lies over ${b.words}`)));
  const [, top, wide] = (await drawn.getAttribute('view#beside', 'viewBox')).split(' ').map(Number), beside = words.filter((one) => one.top >= top);
  assert.ok(beside.length > 8 && words.every((one) => one.right <= (one.top >= top ? wide : 960)));
  await drawn.close();
  for (const [width, height] of [[1440, 900], [390, 844]]) {
    await page.setViewportSize({ width, height });
    if (width < 1280 && !(await page.isVisible('#base-picture'))) await page.click('#rows th button >> text=KLVN');
    await until('the base at ' + width, () => page.isVisible('#base-picture'));
    const shown = await page.$eval('#base-picture', (image) => image.getBoundingClientRect().width), least = Math.min(...beside.map((one) => one.size)) * shown / wide;
    assert.ok(least >= 8, `letters of ${least.toFixed(1)} pixels beside the day at ${width}`);
    await page.screenshot({ path: `base-${width}.png` });
  }
  await page.setViewportSize({ width: 1400, height: 950 });
  assert.deepEqual(await faults(page), []);
  await page.screenshot({ path: 'light.png', fullPage: true });
  await page.emulateMedia({ colorScheme: 'dark' });
  assert.deepEqual(await faults(page), []);
  await page.screenshot({ path: 'dark.png', fullPage: true });
  await page.setViewportSize({ width: 375, height: 780 });
  await page.screenshot({ path: 'phone.png', fullPage: true });
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), 'too wide for a phone');
  assert.deepEqual(await faults(page), []);

  assert.equal((await ask(port, '/now', 'evil.example')).status, 421);
  const metrics = await ask(port, '/metrics', `localhost:${port}`);
  assert.equal(metrics.type, 'application/openmetrics-text; version=1.0.0; charset=utf-8');
  assert.ok(metrics.body.includes('brimwatch_ticks_total 36\n') && metrics.body.endsWith('\n# EOF\n'), metrics.body);
  assert.equal(JSON.parse((await ask(port, '/now', `127.0.0.1:${port}`)).body).watches.length, 4);
  assert.deepEqual(complaints, []);
  assert.deepEqual(strangers, []);

  daemon.kill('SIGTERM');
  assert.equal(await ended, 0, log.text);
  await until('the page to say that it is not live', () => page.evaluate(() => document.getElementById('banner').textContent.includes('NOT LIVE')));
  console.log('page: all is well; screenshots in ' + process.cwd());
} finally {
  if (browser) await browser.close();
  daemon.kill('SIGKILL');
  pipe.destroy();
  fs.rmSync(where, { recursive: true, force: true });
}
