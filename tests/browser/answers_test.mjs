// Answering on the page, in headless Chromium, to a real daemon on a pipe. Usage: node answers_test.mjs BRIMWATCH SCHEMA.
// Buttons and the links of a mail; a page of another site, which can do nothing. A screenshot goes to the working folder.
import assert from 'node:assert/strict';
import { execFileSync, spawn } from 'node:child_process';
import fs from 'node:fs';
import http from 'node:http';
import os from 'node:os';
import path from 'node:path';
import { chromium } from 'playwright-core';
import { CHROMIUM, until as waitUntil } from './chromium.mjs';
import { freePort } from './places.mjs';

const [program, schema] = process.argv.slice(2), where = fs.mkdtempSync(path.join(os.tmpdir(), 'brimwatch-answers-'));
const port = await freePort();
const address = `http://127.0.0.1:${port}/`, fifo = path.join(where, 'ticks');
execFileSync('mkfifo', [fifo]);
fs.mkdirSync(path.join(where, 'mails'));
fs.writeFileSync(path.join(where, 'b.toml'), `
[page]
on = true
port = ${port}
[feed]
kind = "pipe"
past_days = "tell"
rehearsal = 1
command = ["/bin/cat", "${fifo}"]
[[channel]]
kind = "email"
from = "a@example.org"
to = "b@example.org"
picture = false
write_to = "mails"
page_url = "${address}"
[[watch]]
symbol = "KLVN"
pivot = 48.35
[[watch]]
symbol = "ORRI"
pivot = 112.5
`);
let log = '';
const daemon = spawn(program, ['run', '--config', path.join(where, 'b.toml'), '--journal', path.join(where, 'j.db'), '--socket', path.join(where, 'sock')],
  { env: { ...process.env, TZ: 'UTC' } });
for (const stream of [daemon.stdout, daemon.stderr]) stream.on('data', (bytes) => { log += bytes; });
const ended = new Promise((done) => daemon.on('exit', done));
const pipe = fs.createWriteStream(fifo, { flags: 'r+' });
const tick = (clock, symbol, price) => pipe.write(JSON.stringify({ time: `2026-10-14T${clock}-04:00`, symbol, price: price.toFixed(2), size: 5000 }) + '\n');
const until = (what, condition) => waitUntil(what, condition, () => log);
const answers = () => execFileSync(program, ['journal', 'answers', '--json', '--journal', path.join(where, 'j.db')]).toString().split('\n').filter(Boolean).map((line) => JSON.parse(line));
const done = (kind) => until(kind, () => answers().some((one) => one.kind === kind));
// Of the mail's text: quoted-printable (RFC 2045, section 6.7).
const plain = (mail) => mail.replace(/=\r?\n/g, '').replace(/=([0-9A-F]{2})/g, (_, hex) => String.fromCharCode(parseInt(hex, 16)));

let browser;
try {
  await until('the page', () => log.includes('status page: ' + address));
  browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: CHROMIUM });
  const page = await browser.newPage({ viewport: { width: 1400, height: 950 }, colorScheme: 'light' });
  const complaints = [];
  page.on('pageerror', (error) => complaints.push(String(error)));
  const asked = [];
  page.on('request', (request) => { if (request.method() === 'POST') asked.push(request.postData()); });
  await page.goto(address);
  const words = (what) => until(what, async () => (await page.textContent('#answer-words')).includes(what));
  tick('10:00:00', 'ORRI', 110), tick('10:00:00', 'KLVN', 48.2), tick('10:00:01', 'KLVN', 48.41);
  await until('the notice', () => page.$('#notice-list li'));

  // A mute, seen at once, and ended.
  await page.click('#rows th button:text("KLVN")');
  await page.click('#mute-today');
  await words('KLVN 48.35 is muted for the rest of today');
  await until('the state', async () => (await page.textContent('#answer-state')).startsWith('Muted until 00:00'));
  assert.equal(await page.isVisible('#mute-hour'), false);
  await page.click('#unmute');
  await words('KLVN 48.35 is not muted');

  // A price that is none changes nothing; one that is, does.
  await page.fill('#own-price', '480');
  await page.click('#bought');
  await words('Nothing was done: price: found 480.00');
  await page.fill('#own-price', '48.60');
  await page.fill('#own-shares', '200');
  await page.click('#bought');
  await words('KLVN is held from 48.60, 200 shares');
  await until('the holding', async () => (await page.textContent('#answer-state')).includes('Bought at 48.60'));
  assert.equal(await page.isVisible('#drop'), false);
  await page.screenshot({ path: 'answers.png' });
  await page.fill('#own-shares', '500');
  await page.click('#sold');
  await words('Nothing was done: shares: found 500, expected at most the 200 that you hold');
  await page.fill('#own-price', '49.00'), await page.fill('#own-shares', '50.5');
  await page.click('#sold');
  await words('50.5 shares of KLVN are sold; KLVN is held from 48.60, 149.5 shares');
  await until('the rest', async () => (await page.textContent('#answer-state')).includes('Bought at 48.60, 149.5 shares'));
  await page.click('#sold');
  await words('no longer held');

  // Added, and dropped only when it is said twice.
  await page.click('#add summary');
  await page.fill('#add-symbol', 'NIVO'), await page.fill('#add-pivot', '21,10');
  await page.click('#add-now');
  await until('the refusal', async () => (await page.textContent('#add-words')).includes('found "21,10"'));
  await page.fill('#add-pivot', '21.10');
  await page.click('#add-now');
  await until('the new row', () => page.$('#rows th button:text("NIVO")'));
  await page.click('#rows th button:text("NIVO")');
  await page.click('#drop');
  assert.equal(await page.textContent('#drop'), 'Really drop NIVO 21.10?');
  await page.click('#drop');
  await until('the row to go', async () => !(await page.$('#rows th button:text("NIVO")')));

  // Seen.
  await page.click('#notice-list li summary');
  await page.click('#notice-list li button:text("Seen")');
  await done('acknowledge');
  assert.deepEqual(answers().map((one) => [one.kind, one.who]), [['mute', 'page'], ['unmute', 'page'], ['bought', 'page'], ['sold', 'page'], ['sold', 'page'], ['add', 'page'], ['drop', 'page'], ['acknowledge', 'page']]);

  // All that the page has asked is in the form that the schema gives (JSON Schema draft 7, by python3-jsonschema); but for the
  // one pivot that is no price, which goes to the daemon as it was typed, and which the schema refuses as the daemon does.
  const judge = `import json, sys, jsonschema
schema = json.load(open(sys.argv[1]))
judged = jsonschema.Draft7Validator({"$ref": "#/definitions/request", "definitions": schema["definitions"]})
print(json.dumps([line.strip() for line in sys.stdin if not judged.is_valid(json.loads(line))]))`;
  assert.ok(asked.length >= 11);
  const unfit = JSON.parse(execFileSync('/usr/bin/python3', ['-c', judge, schema], { input: asked.map((one) => one + '\n').join('') }));
  assert.deepEqual(unfit, ['{"ask":"add","symbol":"NIVO","pivot":"21,10"}']);

  // The mail's link opens the page, which asks; opening it changes nothing, and it is good once.
  const mail = await until('the mail', () => fs.readdirSync(path.join(where, 'mails')).filter((name) => name.endsWith('.eml')).map((name) => plain(fs.readFileSync(path.join(where, 'mails', name), 'utf8'))).find((text) => text.includes('KLVN crossed')));
  const link = /Mute for an hour:\s+(http\S+)/.exec(mail)[1];
  assert.ok(link.startsWith(address + '#answer='));
  const before = answers().length, reader = await browser.newPage();
  await reader.goto(link);
  await until('the question', () => reader.isVisible('#ask'));
  assert.equal(await reader.textContent('#ask-title'), 'KLVN 48.35, 2026-10-14');
  assert.equal(await reader.textContent('#ask-what'), 'Mute it for an hour?');
  assert.equal(reader.url(), address, 'the link is not kept in the address');
  assert.equal(answers().length, before);
  // The notice is of a past day that is played: by our clock the link has expired.
  await reader.click('#ask-yes');
  await until('the refusal', async () => (await reader.textContent('#ask-words')).includes('has expired'));
  assert.equal(answers().length, before);

  // A page of another site: its scripts can ask, and get nothing done.
  const evil = http.createServer((_, answer) => answer.setHeader('Content-Type', 'text/html').end(
    `<form id="f" method="post" enctype="text/plain" action="${address}answer"><input name='{"ask":"drop","symbol":"KLVN","x":"' value='"}'></form>`)).listen(0, '127.0.0.1');
  await new Promise((go) => evil.once('listening', go));
  const stranger = await browser.newPage();
  await stranger.goto(`http://127.0.0.1:${evil.address().port}/`);
  const outcome = await stranger.evaluate(async (to) => {
    const tries = [fetch(to + 'token'), fetch(to + 'answer?token=x', { method: 'POST', mode: 'no-cors', body: '{"ask":"drop","symbol":"KLVN"}' }),
      fetch(to + 'answer?token=x', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{}' })];
    return (await Promise.allSettled(tries)).map((one) => one.status === 'fulfilled' ? one.value.type : 'refused');
  }, address);
  assert.deepEqual(outcome, ['refused', 'refused', 'refused']);
  await Promise.all([stranger.waitForNavigation(), stranger.evaluate(() => document.getElementById('f').submit())]);
  assert.match(await stranger.textContent('body'), /not from/);
  evil.close();
  assert.equal(answers().length, before);
  assert.deepEqual(complaints, []);
} finally {
  if (browser) await browser.close();
  pipe.destroy();
  daemon.kill('SIGTERM');
  await ended;
  fs.rmSync(where, { recursive: true, force: true });
}
console.log('answered');
