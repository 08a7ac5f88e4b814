// The status page in every state that its user may find it in, in headless Chromium: what stands over everything, what comes
// first, phone and desktop, light and dark. The snapshots are made (states.mjs); page_test.mjs has a real daemon.
// Usage: node states_test.mjs PAGE_FOLDER [TEST]. With BRIMWATCH_PICTURES=1 screenshots go to the working folder, to be looked at.
import assert from 'node:assert/strict';
import { complaintsOf, faults, launch, until } from './kit.mjs';
import { STATES, serve, snapshot, watch, watches } from './states.mjs';

const folder = process.argv[2];
const browser = await launch();

// Pages that have been closed are opened again in another size and colour scheme, with nothing remembered: a new one, in a process
// of its own, takes three times as long.
const idle = [];
async function freshPage(clock) {
  const page = await browser.newPage({ timezoneId: 'Europe/Berlin' });
  page.complaints = complaintsOf(page);
  if (clock) await page.clock.install({ time: new Date('2026-11-27T16:15:00Z') });
  page.clocked = clock;
  page.daemon = await serve(page, folder, () => page.shown.now);
  return page;
}
// A page that shows `shown.now`; what it complains of fails the test.
async function open(shown, { width = 1440, height = 900, scheme = 'light', clock = false } = {}) {
  const page = (!clock && idle.pop()) || await freshPage(clock);
  page.shown = shown;
  await page.setViewportSize({ width, height });
  await page.emulateMedia({ colorScheme: scheme });
  await page.goto('http://brim.test/');
  await page.waitForFunction(() => document.getElementById('line-text').textContent !== 'connecting');
  if (shown.now.watches.length && shown.now.open) await page.waitForFunction(() => document.querySelector('.dayline .drawn')?.getAttribute('d'));
  return page;
}
const picture = (page, path) => process.env.BRIMWATCH_PICTURES ? page.screenshot({ path }) : null;
async function close(page) {
  assert.deepEqual(page.complaints, []);
  if (page.clocked) return page.close();
  await page.evaluate(() => { localStorage.clear(); sessionStorage.clear(); });
  await page.goto('about:blank');
  idle.push(page);
}
const text = (page, selector) => page.$eval(selector, (node) => node.innerText.replace(/\s+/g, ' '));
const texts = (page, selector) => page.$$eval(selector, (all) => all.map((node) => node.innerText.replace(/\s+/g, ' ').trim()));
const box = (page, selector) => page.$eval(selector, (node) => { const b = node.getBoundingClientRect(); return { top: b.top, bottom: b.bottom, left: b.left, right: b.right }; });
const symbols = (page) => texts(page, '#rows th[scope=row] button');

const BANNERS = [['down', /^BLIND Feed main: down for 75 s, connection refused\..*broker/, /^BLIND – Brimwatch/], ['silent', /^BLIND Feed main: connected, but silent for 42 s/, /^BLIND/],
  ['delayed', /^DELAYED Prices come 15 min late/, /^DELAYED – /], ['unkept', /^NOT KEPT .*disk full/, /^NOT KEPT – /],
  ['rehearsal', /^REHEARSAL A day that is past/, /^REHEARSAL – /], ['falling', /^MARKET DOWN/, /^3 inside, 2 heavy, market down – Brimwatch$/],
  ['refused', /^RELOAD REFUSED The configuration read at 11:02 was refused, and the one before it is in force: weekend\.toml:12:9: /, /^RELOAD REFUSED – /],
  ['standby', /^STANDING BY This machine watches and tells nothing while cellar speaks/, /^STANDING BY – 3 inside/],
  ['alone', /^ALONE This machine cannot reach the others/, /^ALONE – /], ['pastDay', /^PAST DAY The feed gives prices of 2026-11-27, 3 days old/, /^PAST DAY – /]];
async function aBannerStandsOverEverything() {
  const shown = { now: STATES.ordinary }, page = await open(shown);
  assert.equal(await page.isVisible('#banner'), false);
  assert.equal(await page.title(), '3 inside, 2 heavy – Brimwatch');
  const icons = new Map([['ordinary', await page.getAttribute('#icon', 'href')]]);
  for (const [name, words, title] of BANNERS) {
    shown.now = STATES[name];
    page.daemon.say();
    await until(name, async () => words.test(await page.innerText('#banner').then((all) => all.replace(/\s+/g, ' '))), () => name);
    assert.match(await page.title(), title);
    icons.set(name, await page.getAttribute('#icon', 'href'));
    assert.ok((await box(page, '#banner')).top <= 0.5);
    await picture(page, `state-${name}.png`);
  }
  // A shape for: as ever, not to be believed, in doubt, a falling market, standing by.
  assert.equal(new Set(['ordinary', 'down', 'delayed', 'falling', 'standby'].map((name) => icons.get(name))).size, 5, 'an icon stands for two things');
  assert.ok(['unkept', 'rehearsal', 'refused', 'alone', 'pastDay'].every((name) => icons.get(name) === icons.get('delayed')));
  assert.equal(icons.get('silent'), icons.get('down'));
  await close(page);
  const phone = await open({ now: { ...STATES.down, watches: watches(40) } }, { width: 360, height: 740 });
  await phone.evaluate(() => scrollTo(0, 1500));
  assert.ok((await box(phone, '#banner')).top <= 0.5, 'the banner scrolls away');
  assert.ok(await phone.evaluate(() => document.getElementById('banner').contains(document.elementFromPoint(100, 10))), 'something lies over the banner');
  await close(phone);
}
async function aSilentDaemonIsSaid() {
  const page = await open({ now: STATES.ordinary }, { clock: true });
  assert.equal(await page.innerText('#line-text'), 'live');
  await page.clock.runFor(14000);
  assert.match(await text(page, '#banner'), /^NOT LIVE Nothing from the daemon since 17:15:/);
  assert.equal(await page.title(), 'NOT LIVE – Brimwatch');
  assert.match((await texts(page, '#rows td.odds'))[0], /0\.94 ?old$/);
  await close(page);
}
async function clocksAndAges() {
  const page = await open({ now: STATES.ordinary }, { clock: true });
  await page.clock.runFor(3000);
  assert.match(await text(page, '#clock'), /^Exchange 11:15:\d\d · here 17:15:\d\d$/);
  assert.match((await texts(page, '#rows tr:first-child .age'))[0], /^\d+ s$/);
  await page.clock.runFor(6000);
  const seconds = Number((await text(page, '#rows tr:first-child .age')).split(' ')[0]);
  assert.ok(seconds >= 11 && seconds <= 40, 'an age of ' + seconds);  // the clock runs on by itself while the test works
  await close(page);
}
async function oddsAreNotDrawnAnewWhileBlind() {
  const shown = { now: STATES.ordinary }, page = await open(shown), drifted = watches(13).map((w) => ({ ...w, volume: { ...w.volume, odds: 0.33, weight: 'unsettled' } }));
  const odds = () => page.$$eval('#rows tr:not(.group)', (all) => Object.fromEntries(all.map((row) => [row.querySelector('button').textContent, row.querySelector('td.odds').innerText.replace(/\s+/g, ' ').trim()])));
  assert.equal((await odds()).KLVN, '● heavy 0.94');
  shown.now = { ...STATES.down, watches: drifted };
  page.daemon.say();
  await until('old', async () => (await odds()).KLVN === '● heavy 0.94 old', () => 'the odds moved while blind');
  shown.now = snapshot({ watches: drifted });
  page.daemon.say();
  await until('new', async () => (await odds()).KLVN === '◐ unsettled 0.33', () => 'the odds stay old');
  await close(page);
}
async function whatMattersSoonestComesFirst() {
  const page = await open({ now: STATES.ordinary });
  assert.deepEqual((await symbols(page)).slice(0, 6), ['KLVN', 'WEXI', 'PLEM', 'NIVO', 'VESQ', 'QUOL']);  // heavy, slipped, about to cross, light
  const sides = Object.fromEntries(await page.$$eval('#rows tr', (all) => all.map((row) => [row.querySelector('button').textContent, row.querySelector('td.side span').textContent])));
  assert.equal(sides.PLEM, '◈ just under', 'inside is said of a price under its pivot');
  assert.equal(sides.ORRI, '▼ fell back');
  assert.equal(sides.HALQ, '▽ under');
  assert.equal((await symbols(page)).at(-1), 'TAMBU');  // over
  await page.click('#filters button >> text=Fell back 1');
  assert.deepEqual(await symbols(page), ['ORRI']);
  await page.click('#filters button >> text=All 13');
  await page.keyboard.press('/');
  await page.keyboard.type('gom');
  assert.deepEqual(await symbols(page), ['GOMBO']);
  await page.keyboard.type('zz');
  assert.ok(await page.isVisible('#no-match'));
  await page.keyboard.press('Escape');
  assert.equal((await symbols(page)).length, 13);
  await close(page);
}
// A stock that moves much in a minute is nearer at 1 % than one that hardly moves; and a pace is counted.
async function nearnessIsInTheStocksOwnMoves() {
  const page = await open({ now: STATES.ordinary });
  const moves = await page.evaluate(async ([quick, slow, rising]) => {
    const { state } = await import('/state.js'), { movesToPivot } = await import('/standing.js'), flat = { minute: [0, 10], price: [99, 99], usual: 0.3 };
    state.brief = { QUICK: { ...flat, move: 0.5 }, SLOW: { ...flat, move: 0.05 }, RISING: { minute: [0, 10], price: [98.5, 99], move: 0.05 } };
    return [quick, slow, rising].map(movesToPivot);
  }, [watch('QUICK', 100, -1), watch('SLOW', 100, -1), watch('RISING', 100, -1)]);
  assert.deepEqual(moves.map((one) => Math.round(one)), [2, 20, 10]);
  await close(page);
}
async function thirteenRowsAndNoticesFit() {
  const page = await open({ now: STATES.ordinary });
  const last = await box(page, '#rows tr:last-child'), table = await box(page, '#table'), notice = await box(page, '#notice-list li:nth-child(4)');
  assert.ok(last.bottom <= table.bottom + 1 && notice.bottom <= 900, JSON.stringify([last, table, notice]));
  const board = await box(page, '#board'), notices = await box(page, '#notices');
  assert.ok(notices.top - board.bottom < 20 && notices.bottom > 840, 'the left column is half empty');
  await picture(page, 'state-ordinary.png');
  await close(page);
}
async function twoHundredStaySmooth() {
  const page = await open({ now: STATES.many });
  assert.equal((await symbols(page)).length, 200);
  assert.ok((await box(page, '#notices')).bottom <= 900);
  const changes = await page.evaluate(async () => {
    const { drawBoard } = await import('/board.js'), { state } = await import('/state.js');
    const seen = new MutationObserver(() => {});
    seen.observe(document.getElementById('board'), { subtree: true, childList: true, characterData: true, attributes: true });
    const count = () => { drawBoard(); return seen.takeRecords().length; };
    count();
    const still = count(), one = state.latest.watches.find((w) => w.symbol === 'HALQ'), began = performance.now();
    one.last += 0.01;
    const moved = count();
    return { still, moved, ms: performance.now() - began };
  });
  console.log('200 watches: one that moved is drawn in', changes.ms.toFixed(1), 'ms');
  assert.equal(changes.still, 0, 'what has not changed is drawn anew');
  assert.ok(changes.moved > 0 && changes.moved <= 12, changes.moved + ' changes for one price');
  await picture(page, 'state-many.png');
  await close(page);
}
// What an update costs in which all 200 have traded, as the browser itself counts it. The times are told, not judged: they are
// of this machine; that nothing forces the page to be laid out again and again is judged.
async function anUpdateOfTwoHundredIsLaidOutOnce() {
  const shown = { now: STATES.many }, page = await open(shown), session = await page.context().newCDPSession(page), updates = 10;
  await session.send('Performance.enable');
  const read = async () => Object.fromEntries((await session.send('Performance.getMetrics')).metrics.map((one) => [one.name, one.value]));
  const before = await read();
  for (let n = 1; n <= updates; ++n) {
    shown.now = snapshot({ watches: watches(200).map((w) => ({ ...w, last: w.last + n / 100, volume: { ...w.volume, so_far: 500000 + n * 1000, odds: 0.5 + n / 1000 } })), counts: { ...STATES.many.counts, ticks: 120345 + n } });
    page.daemon.say();
    await page.waitForFunction((ticks) => import('/state.js').then(({ state }) => state.latest.counts.ticks === ticks), 120345 + n);
    await page.evaluate(() => new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go))));
  }
  const after = await read(), each = (name) => (after[name] - before[name]) / updates;
  console.log(`200 watches that all move: an update takes ${(1000 * each('ScriptDuration')).toFixed(1)} ms of script, ${(1000 * each('LayoutDuration')).toFixed(1)} ms of layout, ${(1000 * each('RecalcStyleDuration')).toFixed(1)} ms of style`);
  assert.ok(each('LayoutCount') <= 12, each('LayoutCount') + ' layouts an update');
  await close(page);
}
async function nothingIsCut(page, width, name) {
  const cut = await page.evaluate((most) => [...document.querySelectorAll('body *')].filter((node) => node.checkVisibility() && !node.closest('svg') &&
    !node.closest('#reach') && (node.getBoundingClientRect().right > most + 0.5 || (node.matches('td, th') && node.scrollWidth > node.clientWidth + 1))).map((node) => node.outerHTML.slice(0, 90)), width);
  assert.deepEqual(cut, [], `${name} at ${width} is cut`);
  assert.ok(await page.$eval('#table', (table) => table.scrollWidth <= table.clientWidth + 1), `the table of ${name} at ${width} is cut`);
}
// Nor a word of a picture, beyond its paper.
async function noLabelIsCut(page, name) {
  const cut = await page.$$eval('figure svg text', (all) => all.filter((one) => one.checkVisibility()).map((one) => [one.textContent, one.getBoundingClientRect(), one.closest('svg').getBoundingClientRect()])
    .filter(([, word, paper]) => word.width && (word.right > paper.right + 1 || word.left < paper.left - 1)).map(([words]) => words));
  assert.deepEqual(cut, [], name);
}
async function aTapOpensTheDetailWhereTheFingerIs() {
  for (const width of [360, 390]) {
    const page = await open({ now: STATES.forty }, { width, height: 740, scheme: width === 360 ? 'light' : 'dark' });
    await nothingIsCut(page, width, 'forty');
    await page.$eval('#rows tr:nth-child(20)', (row) => row.scrollIntoView({ block: 'center' }));
    const name = await page.innerText('#rows tr:nth-child(20) th button'), before = await box(page, '#rows tr:nth-child(20)');
    await page.click('#rows tr:nth-child(20) td.last');
    const after = await box(page, '#rows tr:nth-child(20)'), detail = await box(page, '#detail');
    assert.ok(Math.abs(after.top - before.top) < 2, 'the row has moved away from the finger');
    assert.ok(Math.abs(detail.top - after.bottom) < 3 && (await page.innerText('#detail-title')).startsWith(name));
    await page.waitForFunction(() => document.querySelector('#volume-figure .usual'));
    await nothingIsCut(page, width, 'detail');
    assert.deepEqual(await faults(page), []);
    await picture(page, `phone-${width}.png`);
    await page.click('#to-notices');
    const notices = await box(page, '#notices');
    assert.ok(notices.top >= 0 && notices.top < 700, 'notices are out of reach');
    await page.click('#to-board');
    await page.click('#rows tr:nth-child(20) td.last');
    assert.equal(await page.isVisible('#detail'), false, 'a second tap does not close it');
    await close(page);
  }
}
async function aClosedMarketAndAFirstStartSayWhatIsKnown() {
  const shown = { now: STATES.closed }, page = await open(shown);
  assert.match(await text(page, '#session'), /Market closed; opens Mon 30 Nov, 09:30 \(15:30 here\)/);
  assert.match((await texts(page, '#rows tr'))[0], /KLVN.*was inside.*20\.24 ?last close \+1\.20 %/);
  assert.equal((await symbols(page)).slice(4, 6).join(), 'NIVO,PLEM');  // by nearness of the last close
  assert.equal(await page.title(), 'market closed – Brimwatch');
  await picture(page, 'state-closed.png');
  shown.now = STATES.evening;
  page.daemon.say();
  await until('the evening', async () => /The day ended at 1\.90M, \+46 % on normal/.test(await text(page, '#volume-figure')), () => 'no words of the end');
  assert.equal(await page.$('#volume-figure .interval'), null);
  await picture(page, 'state-evening.png');
  shown.now = STATES.empty;
  page.daemon.say();
  await until('the empty list', () => page.isVisible('#none'), () => 'no help');
  assert.match(await text(page, '#none'), /\[\[watch\]\] symbol = "KLVN" pivot = 48\.35/);
  assert.deepEqual(await faults(page), []);
  await picture(page, 'state-empty.png');
  await close(page);
}
async function theRowTellsTheDay() {
  const page = await open({ now: STATES.ordinary });
  await page.waitForFunction(() => document.querySelector('#rows .notch').getAttribute('d'));
  const rows = await page.$$eval('#rows tr', (all) => all.map((row) => ({ line: row.querySelector('.dayline .drawn').getAttribute('d').split('L').length, pivot: row.querySelector('.dayline .pivot').getAttribute('y1'),
    poured: Number(row.querySelector('.poured').getAttribute('width')), notch: row.querySelector('.notch').getAttribute('d') })));
  assert.ok(rows.every((row) => row.line > 50));
  assert.equal(new Set(rows.map((row) => row.pivot)).size, 1, 'the rows have different scales');
  assert.ok(Math.abs(rows[0].poured - 88 * 500000 / 1820000) < 0.1);    // so far / needed
  assert.ok(rows[0].notch.startsWith('M' + (1 + 88 * 1300000 * 0.36 / 1820000).toFixed(1)));  // usual by now / needed
  await close(page);
}
async function labelsAndNumbers() {
  const page = await open({ now: snapshot({ watches: [watch('KLVN', 0.0125, 1.6, { last: 0.0127, range_top: 0.013125, loss_limit: 0.0124 })] }) });
  assert.match((await texts(page, '#rows td.last'))[0], /^0\.0127/);
  assert.match(await page.getAttribute('#price-figure svg', 'aria-label'), /pivot 0\.0125, range top 0\.013125/);
  const boxes = await page.$$eval('#price-figure svg text', (all) => all.map((one) => { const b = one.getBoundingClientRect(); return [b.left, b.top, b.right, b.bottom]; }));
  boxes.forEach((a, i) => boxes.slice(i + 1).forEach((b) => assert.ok(a[2] <= b[0] + 1 || b[2] <= a[0] + 1 || a[3] <= b[1] + 2 || b[3] <= a[1] + 2, 'labels lie over each other')));
  await close(page);
}
async function listsGroupsAndReports() {
  const page = await open({ now: STATES.lists });
  assert.deepEqual(await texts(page, '#lists button'), ['All lists 13', 'holdings 5', 'weekend 8']);
  await page.click('#lists button >> text=holdings');
  assert.equal((await symbols(page)).length, 5);
  assert.deepEqual((await texts(page, '#filters button'))[0], 'All 5', 'the counts are of another list');
  await page.click('#lists button >> text=All lists');
  await page.click('#group');
  assert.deepEqual(await texts(page, '#rows tr.group'), ['Inside 4', 'Under 7', 'Fell back 1', 'Over 1']);
  assert.equal(await page.getAttribute('#group', 'aria-pressed'), 'true');
  assert.equal((await symbols(page)).length, 13);
  await picture(page, 'state-groups.png');
  assert.deepEqual(await faults(page), []);
  await page.reload();
  await page.waitForFunction(() => document.querySelectorAll('#rows tr.group').length === 4);  // it is remembered
  assert.deepEqual(await texts(page, '#coming-list li'), ['HALQ reports Tue 1 Dec, in 4 days', 'NIVO reports Wed 2 Dec, in 5 days', 'KLVN reports Thu 3 Dec, in 6 days']);
  assert.match(await text(page, '#detail-words'), /reports Thu 3 Dec, in 6 days/);
  await page.click('#group');
  await page.waitForFunction(() => !document.querySelector('#rows tr.group'));
  await close(page);
  const other = await open({ now: STATES.ordinary });
  assert.equal(await other.isVisible('#lists') || await other.isVisible('#coming'), false, 'tabs of one list, or reports of none');
  await close(other);
}
async function standingByIsSaid() {
  const page = await open({ now: STATES.standby });
  assert.match(await text(page, '#banner'), /^STANDING BY This machine watches and tells nothing while cellar speaks \(since 09:31:05\)\./);
  assert.equal(await text(page, '#members'), 'cellar speaks since 09:31:05; standing by: attic; this machine is attic; etcd answered 0 s ago');
  await close(page);
}
async function warningsOfTheConfigurationStandByTheFeeds() {
  const page = await open({ now: STATES.warned });
  assert.equal((await texts(page, '#warnings li')).length, 6);
  assert.match((await texts(page, '#warnings li'))[0], /^Configuration: brimwatch\.toml:3:1: .*no directory/);
  assert.equal((await texts(page, '#warnings li'))[5], 'and 2 more; brimwatch check has all');
  assert.equal(await page.isVisible('#banner'), false);
  await close(page);
  const plain = await open({ now: STATES.ordinary });
  assert.equal(await plain.isVisible('#warnings'), false);
  await close(plain);
}
async function theBaseStandsBesideTheDayAndPicturesOpenLarge() {
  for (const [width, height] of [[1440, 900], [1920, 1080], [390, 844]]) {
    const page = await open({ now: STATES.based }, { width, height });
    if (width < 1280) await page.click('#rows tr:first-child td.last');
    await page.waitForFunction(() => !document.getElementById('base-figure').hidden);
    const base = await box(page, '#base-picture'), price = await box(page, '#price-figure svg');
    assert.ok(base.right - base.left >= Math.min(480, width * 0.85), `the base is ${base.right - base.left} wide at ${width}`);
    if (width > 1280) assert.ok(base.bottom <= height && price.top >= 0, `day and base do not fit at ${width}: ${base.bottom}`);
    assert.deepEqual(await faults(page), []);
    await picture(page, `state-base-${width}.png`);
    await page.click('#base-figure .larger');
    const large = await box(page, '#large-picture img');
    assert.ok(large.right - large.left > (base.right - base.left) * (width > 1280 ? 1.3 : 0.8), 'it does not open large');
    assert.deepEqual(await faults(page), [], `large at ${width}`);
    assert.ok(width > 1280 || await page.$eval('#large-picture', (place) => place.scrollWidth > place.clientWidth), 'its letters are shrunk on a phone');
    await picture(page, `state-base-large-${width}.png`);
    await page.keyboard.press('Escape');
    assert.equal(await page.isVisible('#large'), false);
    await page.click('#price-figure .larger');
    assert.match(await text(page, '#large-title'), /^KLVN at 20\.00: price of the day$/);
    await page.click('#large-close');
    await nothingIsCut(page, width, 'with a base');
    await close(page);
  }
}
async function theBoardFitsAtEveryWidth() {
  for (const width of [360, 390, 1280, 1366, 1440, 1920]) {
    const shown = { now: STATES.many }, page = await open(shown, { width, height: 800 });
    await nothingIsCut(page, width, 'many');
    shown.now = STATES.down;  // the mark of old odds needs room
    page.daemon.say();
    await page.waitForFunction(() => document.querySelectorAll('#rows td.old').length === 13);
    await nothingIsCut(page, width, 'down');
    await close(page);
  }
}
// What real lists hold at their edges, at each width, and with letters twice as large: a browser's zoom of 200 % halves the
// width in CSS pixels (WCAG 2.2, 1.4.10 asks for 320 of them without a second direction to scroll in).
async function nothingIsCutAtTheEdges() {
  for (const [width, scheme] of [[320, 'light'], [360, 'dark'], [390, 'light'], [640, 'light'], [720, 'dark'], [940, 'light'], [1100, 'dark'], [1280, 'light'], [1366, 'dark'], [1440, 'light'], [1920, 'light']]) {
    const page = await open({ now: STATES.wild }, { width, height: 800, scheme });
    await nothingIsCut(page, width, 'wild');
    if (width < 1280) await page.click('#rows tr:first-child td.last');
    await page.waitForFunction(() => document.querySelector('#volume-figure .usual'));
    await nothingIsCut(page, width, 'wild, open');
    await noLabelIsCut(page, `wild at ${width}`);
    if ([320, 720, 1440].includes(width)) assert.deepEqual(await faults(page), [], `wild at ${width}`);
    await picture(page, `state-wild-${width}.png`);
    await close(page);
  }
  const page = await open({ now: STATES.wild });
  const prices = Object.fromEntries(await page.$$eval('#rows tr', (all) => all.map((row) => [row.querySelector('button').textContent, row.querySelector('td.last span').textContent])));
  assert.deepEqual([prices['QUELLINGTONS 123456.78'], prices.NIVO, prices.HALQ], ['124938.26', '0.01225', '0.000131']);
  await page.click('#rows th button:text("NIVO")');
  assert.equal((await page.textContent('#detail-note')).replace(/[^\u05d0-\u05ea]/g, '').length, 10);
  assert.equal(await page.$eval('#detail-note', (node) => getComputedStyle(node).direction), 'rtl');
  assert.equal(await page.$eval('#detail-words', (node) => getComputedStyle(node).direction), 'ltr');
  assert.ok(!/[\u202a-\u202e\u2066-\u2069]/.test(await page.textContent('#detail-words')), 'a note turns the reading direction of what follows it');
  await close(page);
}
// Each once, light and dark and the widths by turns.
async function everyStateIsAccessible() {
  const widths = [1440, 390, 1280, 360, 1920];
  for (const [at, name] of Object.keys(STATES).entries()) {
    if (name === 'many') continue;  // the same rows as those of "forty"
    const width = widths[at % widths.length], scheme = at % 2 ? 'dark' : 'light', page = await open({ now: STATES[name] }, { width, scheme });
    assert.deepEqual(await faults(page), [], `${name} at ${width}, ${scheme}`);
    await nothingIsCut(page, width, name);
    await picture(page, `state-${name}-${width}-${scheme}.png`);
    await close(page);
  }
}
// The question of a mail's link, the answers of a watch that is muted, held or about to be dropped, the pairing of a device.
async function questionsAndAnswersAreAccessible() {
  const link = 'answer=' + Buffer.from(JSON.stringify({ ask: 'bought', notice: '2026-11-27/KLVN/48.35/1' })).toString('base64url') + '.seal';
  for (const [width, scheme] of [[390, 'dark'], [1440, 'light'], [320, 'light']]) {
    const page = await open({ now: STATES.answered }, { width, scheme });
    if (width < 1280) await page.click('#rows tr:first-child td.last');
    assert.match(await text(page, '#answer-state'), /^Muted until 12:15\. Bought at 19\.50, 200 shares, \+3\.8 %; loss limit 17\.94\.$/);
    assert.deepEqual(await faults(page), [], `answered at ${width}`);
    await nothingIsCut(page, width, 'answered');
    await picture(page, `answered-${width}.png`);
    await page.click('#rows th button:text-is("NIVO")');
    await page.click('#drop');
    assert.equal(await text(page, '#drop'), 'Really drop NIVO 27.35?');
    await page.click('#add summary');
    await page.evaluate((hash) => { location.hash = hash; }, link);
    await page.waitForFunction(() => !document.getElementById('ask').hidden);
    assert.equal(await text(page, '#ask-title'), 'KLVN 48.35, 2026-11-27');
    assert.deepEqual(await faults(page), [], `asked at ${width}`);
    await nothingIsCut(page, width, 'asked');
    await picture(page, `asked-${width}.png`);
    await close(page);
    const pair = await browser.newPage({ viewport: { width, height: 700 }, colorScheme: scheme });
    await serve(pair, folder, () => STATES.ordinary);
    await pair.goto('http://brim.test/pair.html');
    await pair.waitForSelector('#pair-code');
    assert.deepEqual(await faults(pair), [], `pairing at ${width}`);
    assert.ok(await pair.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `pairing at ${width} is cut`);
    await picture(pair, `pair-${width}.png`);
    await pair.close();
  }
}
try {
  const only = process.argv[3];
  for (const test of [aBannerStandsOverEverything, aSilentDaemonIsSaid, clocksAndAges, oddsAreNotDrawnAnewWhileBlind, whatMattersSoonestComesFirst, nearnessIsInTheStocksOwnMoves,
    thirteenRowsAndNoticesFit, twoHundredStaySmooth, anUpdateOfTwoHundredIsLaidOutOnce, aTapOpensTheDetailWhereTheFingerIs, aClosedMarketAndAFirstStartSayWhatIsKnown, theRowTellsTheDay, labelsAndNumbers, listsGroupsAndReports, standingByIsSaid, warningsOfTheConfigurationStandByTheFeeds,
    theBaseStandsBesideTheDayAndPicturesOpenLarge, theBoardFitsAtEveryWidth, nothingIsCutAtTheEdges, everyStateIsAccessible, questionsAndAnswersAreAccessible]) {
    if (only && test.name !== only) continue;
    try { await test(); } catch (error) { error.message = test.name + ': ' + error.message; throw error; }
  }
  console.log('states: all is well' + (process.env.BRIMWATCH_PICTURES ? '; screenshots in ' + process.cwd() : ''));
} finally {
  await browser.close();
}
