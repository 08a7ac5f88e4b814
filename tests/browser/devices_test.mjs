// The page beyond this machine, in headless Chromium, over TLS and by a name: pairing, being notified, being revoked; and what
// a stranger in the same network can try. A push service of the tests' own stands for the browser's maker's.
// Usage: node devices_test.mjs BRIMWATCH.
import assert from 'node:assert/strict';
import { spawn, spawnSync } from 'node:child_process';
import fs from 'node:fs';
import net from 'node:net';
import tls from 'node:tls';
import { chromium } from 'playwright-core';
import webpush from 'web-push';
import { until as waitUntil } from './chromium.mjs';
import { HOST, makeFarPage } from './far_page.mjs';
import { certificate, freePort } from './places.mjs';
import { PushService } from './push_service.mjs';

const program = process.argv[2], far = await makeFarPage(program, 'devices'), { where, file, port, origin, pem, log, until, say } = far;
const service = await PushService.start(pem, fs.readFileSync(file('page.key'))), tick = (price) => far.tick('KLVN', price);
far.start(`[[channel]]
kind = "push"
contact = "mailto:me@example.org"
ca_file = "page.pem"
kinds = ["crossed", "left-range"]
[[watch]]
symbol = "KLVN"
pivot = 48.35
normal_volume = 1300000
[[watch]]
symbol = "KLVN"
pivot = 54
normal_volume = 1300000
[[watch]]
symbol = "KLVN"
pivot = 60
normal_volume = 1300000
`);

// One request as bytes, over TLS; what came back until the end.
const raw = (bytes, { wait = 8000, servername = HOST } = {}) => new Promise((done) => {
  let got = '';
  const socket = tls.connect({ port, host: '127.0.0.1', servername, ca: pem }, () => socket.write(bytes));
  socket.setTimeout(wait, () => socket.destroy());
  socket.on('data', (more) => { got += more; });
  socket.on('error', () => {});
  socket.on('close', () => done(got));
});
const get = (route, more = '', host = `${HOST}:${port}`) => raw(`GET ${route} HTTP/1.1\r\nHost: ${host}\r\n${more}\r\n`);
const post = (route, body, more = `Origin: ${origin}\r\n`, type = 'application/json') =>
  raw(`POST ${route} HTTP/1.1\r\nHost: ${HOST}:${port}\r\nContent-Type: ${type}\r\nContent-Length: ${Buffer.byteLength(body)}\r\n${more}\r\n${body}`);
const status = (answer) => Number(answer.split(' ')[1]);

async function open() {
  const context = await chromium.launchPersistentContext(file('profile'), { executablePath: '/usr/bin/chromium', viewport: { width: 400, height: 800 }, args: far.browser });
  await context.grantPermissions(['notifications'], { origin });
  // The browser's own push service is in the network of its maker; here it is that of the test. All else is the page's.
  await context.exposeFunction('testSubscribe', (key) => { service.key = key; return service.subscribe('phone'); });
  await context.addInitScript(() => {
    let kept = null;
    const made = (said) => ({ ...said, toJSON: () => said, unsubscribe: async () => { kept = null; return true; } });
    PushManager.prototype.subscribe = async ({ applicationServerKey }) => {
      const key = btoa(String.fromCharCode(...applicationServerKey)).replace(/\+/g, '-').replace(/\//g, '_').replace(/=+$/, '');
      kept = made(await window.testSubscribe(key));
      return kept;
    };
    PushManager.prototype.getSubscription = async () => kept;
  });
  return context;
}

async function aStrangerSeesNothing() {
  for (const route of ['/', '/now', '/days', '/day/KLVN', '/metrics', '/base/KLVN.svg', '/page.js', '/worker.js', '/token', '/answers.js']) {
    const answer = await get(route);
    assert.equal(status(answer), 401, route);
    assert.ok(!/KLVN|48\.35|pivot/i.test(answer.split('\r\n\r\n')[1].replace(/page pair/g, '')), route);
  }
  assert.equal(status(await get('/live', 'Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nOrigin: ' + origin + '\r\n')), 401);
  for (const host of ['127.0.0.1:' + port, 'localhost:' + port, HOST, 'evil.example', HOST + ':' + port + '.evil.example', ''])
    assert.equal(status(await get('/', '', host)), host ? 421 : 421, 'Host ' + host);
  for (const route of ['/answer', '/push', '/push/off', '/pair'])
    assert.ok([401, 403].includes(status(await post(route, '{}'))), route);
  for (const cookie of ['', 'a.b', '.', 'x'.repeat(4000)])
    assert.equal(status(await get('/now', `Cookie: __Host-brimwatch=${cookie}\r\n`)), 401, 'cookie ' + cookie.slice(0, 9));
  for (const from of ['http://' + HOST + ':' + port, 'https://' + HOST, 'null', 'https://evil.example', origin + '.evil.example'])
    assert.equal(status(await post('/pair', '{"code":"x"}', `Origin: ${from}\r\n`)), 403, from);
  assert.equal(status(await post('/pair', '{"code":"x"}', `Origin: ${origin}\r\n`, 'text/plain')), 415);
  assert.equal(status(await post('/pair', '{"code":"x"}', `Origin: ${origin}\r\nSec-Fetch-Site: cross-site\r\n`)), 403);
}
// Spoken to in the clear, with an old TLS, or with none at all after the connection.
async function onlyOverTls() {
  const plain = await new Promise((done) => {
    let got = '';
    const socket = net.connect(port, '127.0.0.1', () => socket.write(`GET / HTTP/1.1\r\nHost: ${HOST}:${port}\r\n\r\n`));
    socket.on('data', (more) => { got += more.toString('latin1'); });
    socket.on('close', () => done(got));
    socket.on('error', () => {});
  });
  assert.ok(!plain.includes('HTTP/1.1 2') && !plain.includes('Brimwatch'), plain);
  await assert.rejects(new Promise((done, fail) => {
    const socket = tls.connect({ port, host: '127.0.0.1', servername: HOST, ca: pem, minVersion: 'TLSv1', maxVersion: 'TLSv1.1', ciphers: 'DEFAULT@SECLEVEL=0' }, done);
    socket.on('error', fail);
  }));
}
async function aCodeIsGoodOnceAndGuessingEndsIt() {
  const { code } = say('page', 'pair');
  for (let n = 0; n < 10; ++n) assert.equal(status(await post('/pair', JSON.stringify({ code: 'AAAA-AAAA-AAA' + n }))), 403);
  assert.equal(status(await post('/pair', JSON.stringify({ code }))), 403, 'after ten wrong ones');
  const other = say('page', 'pair', '--name', 'tablet').code, first = await post('/pair', JSON.stringify({ code: other.toLowerCase().replaceAll('-', '') }));
  assert.equal(status(first), 200);
  assert.match(first, /Set-Cookie: __Host-brimwatch=[\w-]+\.[\w-]{43}; Path=\/; Max-Age=34560000; Secure; HttpOnly; SameSite=Strict\r\n/);
  assert.equal(status(await post('/pair', JSON.stringify({ code: other }))), 403, 'twice');
  const cookie = /__Host-brimwatch=([^;]+)/.exec(first)[1];
  assert.equal(status(await get('/now', `Cookie: x=1; __Host-brimwatch=${cookie}\r\n`)), 200);
  assert.equal(status(await get('/now', `Cookie: __Host-brimwatch=a.b; __Host-brimwatch=${cookie}\r\n`)), 401, 'two cookies');
  assert.equal(status(await post('/answer', '{"ask":"acknowledge"}', `Origin: ${origin}\r\nCookie: __Host-brimwatch=${cookie}\r\n`)), 403, 'look does not answer');
  assert.equal(status(await post('/push', '{"endpoint":"http://10.0.0.1/","keys":{}}', `Origin: ${origin}\r\nCookie: __Host-brimwatch=${cookie}\r\n`)), 400);
  assert.equal(say('page', 'revoke', 'tablet').name, 'tablet');
  assert.equal(status(await get('/now', `Cookie: __Host-brimwatch=${cookie}\r\n`)), 401);
}
// The code that a camera would follow: Debian's reader of such codes sees the picture of the terminal.
async function theQrCodeIsRead() {
  const text = spawnSync(program, ['page', 'pair', '--socket', file('sock')]).stdout.toString(), rows = text.split('\n').filter((line) => /^[█▀▄ ]+$/.test(line));
  const scale = 6, width = rows[0].length, light = (row, x) => { const c = rows[row >> 1][x]; return c === '█' || c === (row % 2 ? '▄' : '▀'); };
  let image = `P2 ${width * scale} ${rows.length * 2 * scale} 255\n`;
  for (let y = 0; y < rows.length * 2 * scale; ++y) for (let x = 0; x < width * scale; ++x) image += (light(Math.floor(y / scale), Math.floor(x / scale)) ? 255 : 0) + '\n';
  fs.writeFileSync(file('qr.pgm'), image);
  const read = spawnSync('zbarimg', ['-q', '--raw', file('qr.pgm')]);
  if (read.error) return console.log('zbarimg is not installed: the QR code was not read');
  assert.match(read.stdout.toString(), new RegExp(`^${origin}/pair#[0-9A-Z]{4}-[0-9A-Z]{4}-[0-9A-Z]{4}\n$`));
  assert.ok(text.includes(read.stdout.toString().trim().split('#')[1]), 'the same code as text');
  assert.ok(rows.every((row) => row.length <= 80) && rows.length <= 22);
}
async function pairedByTheLink(context) {
  const page = await context.newPage();
  page.on('pageerror', (error) => { log.text += 'page: ' + error + '\n'; });
  await page.goto(origin);
  assert.match(await page.innerText('#pair-words'), /not paired.*brimwatch page pair/s);
  await page.screenshot({ path: 'pair.png' });
  const { link } = say('page', 'pair', '--name', 'phone', '--right', 'answer');
  await page.goto(link);
  await until('the board', async () => /KLVN/.test(await page.innerText('body')));
  assert.equal(page.url(), origin + '/');
  const [cookie] = (await context.cookies()).filter((one) => one.name === '__Host-brimwatch');
  assert.deepEqual([cookie.httpOnly, cookie.secure, cookie.sameSite, cookie.path, cookie.domain], [true, true, 'Strict', '/', HOST]);
  assert.equal(await page.evaluate(() => document.cookie), '');
  await until('the live line', async () => (await page.innerText('#line-text')) !== 'connecting');
  return page;
}
async function notified(page, context) {
  await page.click('#push-button');
  await until('to be subscribed', async () => /closed/.test(await page.innerText('#push-words')));
  await page.screenshot({ path: 'push.png' });
  assert.equal(say('page', 'devices').devices.find((one) => one.name === 'phone').push, 1);
  for (const price of [48.2, 48.3, 48.31, 48.42, 48.44]) tick(price);
  const message = await until('the push', () => service.got[0]);
  assert.deepEqual([message.method, message.path, message.headers['content-encoding'], message.headers.urgency], ['POST', '/send/phone', 'aes128gcm', 'high']);
  assert.match(message.headers.topic, /^[\w-]{32}$/);
  assert.match(message.headers.ttl, /^\d+$/);
  service.judge(message, service.key);
  const said = service.open(message);
  assert.match(said.title, /KLVN/);
  assert.equal(said.lines.length, 3);
  asTheReferenceLibrary(message);
  return said;
}
// The same message made by the reference library: the same headers and the same form of the body.
function asTheReferenceLibrary(message) {
  const keys = webpush.generateVAPIDKeys();
  const theirs = webpush.generateRequestDetails({ endpoint: `https://127.0.0.1:${service.port}/send/phone`, keys: { p256dh: service.browser.getPublicKey('base64url'), auth: service.auth.toString('base64url') } },
    '{"title":"x","lines":[],"id":"y"}', { TTL: 60, urgency: 'high', topic: message.headers.topic, contentEncoding: 'aes128gcm', vapidDetails: { subject: 'mailto:me@example.org', ...keys } });
  const names = (headers) => Object.keys(headers).map((name) => name.toLowerCase()).filter((name) => !['content-length', 'host', 'accept', 'user-agent'].includes(name)).sort();
  assert.deepEqual(names(message.headers), names(theirs.headers));
  assert.equal(service.open({ body: theirs.body }).title, 'x');
  for (const body of [message.body, theirs.body]) assert.deepEqual([body.readUInt32BE(16), body[20], body[21]], [4096, 65, 4]);
}
async function shownByTheWorker(page, context, said) {
  const cdp = await context.newCDPSession(page), registrations = [];
  cdp.on('ServiceWorker.workerRegistrationUpdated', (event) => registrations.push(...event.registrations));
  await cdp.send('ServiceWorker.enable');
  const { registrationId } = await until('the worker', () => registrations.find((one) => one.scopeURL === origin + '/'));
  await until('the worker to be active', () => page.evaluate(async () => (await navigator.serviceWorker.ready).active?.state === 'activated'));
  // What it asks the browser to show; whether a desktop without a notification service keeps it is that desktop's business.
  const worker = await until('the worker itself', () => context.serviceWorkers()[0]);
  await worker.evaluate(() => {
    self.shown = [];
    const show = self.registration.showNotification.bind(self.registration);
    self.registration.showNotification = (title, options) => { self.shown.push({ title, ...options }); return show(title, options); };
  });
  await cdp.send('ServiceWorker.deliverPushMessage', { origin, registrationId, data: JSON.stringify(said) });
  const shown = (await until('the notification', async () => { const all = await worker.evaluate(() => self.shown); return all.length && all; }))
    .map((one) => ({ title: one.title, body: one.body, tag: one.tag, actions: one.actions.map((a) => a.action) }));
  assert.deepEqual(shown, [{ title: said.title, body: said.lines.join('\n'), tag: said.id, actions: ['acknowledge', 'mute'] }]);
}
// The buttons of a notification, while no page is open for them: what the worker hears is the browser's own event, or, where
// a desktop without a notification service keeps none to press, one made like it.
const pressed = (worker, said, action) => worker.evaluate(async ([said, action]) => {
  self.shown = [];
  const [kept] = await self.registration.getNotifications({ tag: said.id });
  let event, closed = 0;
  const work = [];
  if (kept) event = new NotificationEvent('notificationclick', { notification: kept, action });
  else {
    event = new ExtendableEvent('notificationclick');
    Object.defineProperties(event, { notification: { value: { data: said, close: () => { closed += 1; } } }, action: { value: action } });
  }
  event.waitUntil = (what) => work.push(what);
  self.dispatchEvent(event);
  await Promise.all(work);
  return { shown: self.shown.map((one) => one.title + ': ' + one.body), waited: work.length, closed: kept ? (await self.registration.getNotifications({ tag: said.id })).length === 0 : closed === 1 };
}, [said, action]);
async function itsButtonsAnswer(page, context, said) {
  const [worker] = context.serviceWorkers();
  for (const action of ['acknowledge', 'mute']) {
    const done = await pressed(worker, said, action);
    assert.deepEqual([done.waited, done.closed, done.shown], [1, true, []], action);
  }
  assert.deepEqual(far.answers().map((one) => [one.kind, one.who, one.symbol ?? one.notice]), [['acknowledge', 'phone', said.id], ['mute', 'phone', 'KLVN']]);
  const wrong = await pressed(worker, { ...said, id: '2026-10-14/ZUNO/5.00/crossed/1' }, 'mute');
  assert.match(wrong.shown.join(), /^Nothing was changed: symbol: found "ZUNO", expected one that is watched/);
  await page.evaluate(() => fetch('/token')).then(() => say('watch', 'unmute', 'KLVN', '48.35'));
}
// Half requests and handshakes that are never finished keep nobody out.
async function aFloodKeepsNobodyOut(page) {
  const sockets = Array.from({ length: 150 }, () => { const one = net.connect(port, '127.0.0.1'); one.on('error', () => {}); return one; });
  for (const one of sockets) one.write(Buffer.from([0x16, 0x03, 0x01, 0x02]));
  assert.equal(await page.evaluate(async () => (await fetch('/now')).status), 200);
  assert.equal(say('page', 'devices').devices.length, 1);
  sockets.forEach((one) => one.destroy());
  assert.equal(status(await get('/', 'X-Long: ' + 'x'.repeat(9000) + '\r\n')), 431);
}
// RFC 8030, section 5.4: a message replaces one of the same topic that was not delivered yet. One topic a watch.
async function aWatchHasOneTopic() {
  const before = service.got.length;
  for (const price of [51.2, 51.3]) tick(price);
  await until('the range to be left', () => service.got.slice(before).some((one) => /left/.test(service.open(one).title)));
  const left = service.got.slice(before).find((one) => /left/.test(service.open(one).title));
  assert.equal(left.headers.topic, service.got[0].headers.topic);
  for (const price of [53, 54.1]) tick(price);
  await until('the other crossing', () => service.got.slice(before).some((one) => /54\.00/.test(service.open(one).title)));
  const other = service.got.slice(before).find((one) => /54\.00/.test(service.open(one).title));
  assert.notEqual(other.headers.topic, left.headers.topic);
}
// RFC 8030, section 7.3: 404 for a subscription that has expired, 410 for one that was ended.
async function goneIsForgottenAndRevokedIsNobody(page) {
  for (const [gone, prices] of [[404, [57, 57.1]], [410, [60, 60.6]]]) {
    service.status = gone;
    for (const price of prices) tick(price);
    await until('to be forgotten after ' + gone, () => say('page', 'devices').devices[0].push === 0);
    service.status = 201;
    if (gone === 410) break;
    for (const words of [/^$/, /closed/]) {  // the browser ends its own half, and begins anew
      await page.click('#push-button');
      await until('the button', async () => words.test(await page.innerText('#push-words')));
    }
    assert.equal(say('page', 'devices').devices[0].push, 1);
  }
  const certificateBefore = await servedCertificate();
  certificate(where, 'page', HOST);
  far.kill('SIGHUP');
  await until('the new certificate', async () => (await servedCertificate()) !== certificateBefore);
  assert.equal(say('page', 'revoke', 'phone').done, 'revoked');
  assert.equal(await page.evaluate(async () => (await fetch('/now')).status).catch(() => 401), 401);
  await until('the live line to end', async () => (await page.innerText('#line-text')) !== 'live');
}
const servedCertificate = () => new Promise((done) => {
  const socket = tls.connect({ port, host: '127.0.0.1', servername: HOST, rejectUnauthorized: false }, () => { done(socket.getPeerCertificate().fingerprint256); socket.destroy(); });
  socket.on('error', () => done(''));
});

// Behind a proxy of its user's that has the certificate: in the clear on this machine, and to that name alone.
async function behindAProxy() {
  const inside = await freePort();
  fs.writeFileSync(file('p.toml'), fs.readFileSync(file('b.toml'), 'utf8').replace(/listen = .*/, `listen = "127.0.0.1:${inside}"`).replace(/^(certificate|key) = .*$/gm, '')
    .replace(/\[\[channel\]\][^]*?kinds = .*/, '').replace(/command = .*/, 'command = ["/bin/sleep", "600"]'));
  let said = '';
  const other = spawn(program, ['run', '--config', file('p.toml'), '--journal', file('p.db'), '--socket', file('p.sock')], { env: { ...process.env, TZ: 'UTC', XDG_RUNTIME_DIR: where } });
  for (const out of [other.stdout, other.stderr]) out.on('data', (bytes) => { said += bytes; });
  const gone = new Promise((done) => other.on('exit', done));
  try {
    await waitUntil('the page behind a proxy', () => said.includes('status page for devices'), () => said);
    const through = (host) => new Promise((done) => {
      let got = '';
      const socket = net.connect(inside, '127.0.0.1', () => socket.write(`GET /now HTTP/1.1\r\nHost: ${host}\r\nX-Forwarded-For: 192.0.2.1\r\n\r\n`));
      socket.on('data', (more) => { got += more; });
      socket.on('close', () => done(status(got)));
    });
    assert.equal(await through(`${HOST}:${port}`), 401);
    assert.equal(await through('127.0.0.1:' + inside), 421);
  } finally {
    other.kill('SIGTERM');
    await gone;
  }
}

let context;
try {
  await until('the page for devices', () => log.text.includes('status page for devices: ' + origin));
  await aStrangerSeesNothing();
  await onlyOverTls();
  await aCodeIsGoodOnceAndGuessingEndsIt();
  await theQrCodeIsRead();
  await behindAProxy();
  context = await open();
  const page = await pairedByTheLink(context), said = await notified(page, context);
  await shownByTheWorker(page, context, said);
  await itsButtonsAnswer(page, context, said);
  await aWatchHasOneTopic();
  await aFloodKeepsNobodyOut(page);
  await goneIsForgottenAndRevokedIsNobody(page);
  console.log('devices: paired, notified, revoked; screenshots in ' + process.cwd());
} finally {
  if (context) await context.close();
  await far.end();
  service.stop();
}
