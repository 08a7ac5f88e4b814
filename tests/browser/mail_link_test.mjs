// The whole way of a link in a mail: a real SMTP server takes the mail, its link is opened in headless Chromium on a paired
// phone, the page asks, and only its user's click answers. Looking at a link, as mail programs and their guards do, changes
// nothing; a link is good once and for a day, and on no other device. Usage: node mail_link_test.mjs BRIMWATCH MAILBOX.
import assert from 'node:assert/strict';
import crypto from 'node:crypto';
import fs from 'node:fs';
import https from 'node:https';
import path from 'node:path';
import { chromium } from 'playwright-core';
import { HOST, makeFarPage } from './far_page.mjs';
import { start } from './kit.mjs';
import { freePort } from './places.mjs';

const [program, mailbox] = process.argv.slice(2), smtp = await freePort();
const far = await makeFarPage(program, 'mail-link'), { file, origin, pem, log, until, say, tick, answers } = far;
fs.mkdirSync(file('mails'));
const server = start('/usr/bin/python3', [mailbox, String(smtp), file('mails')], log);
let without = false;
server.child.on('exit', (code) => { without = code === 77; });
await until('the mail server', () => without || log.text.includes('ready'));
if (without) { console.log('skipped: python3-aiosmtpd is not installed'); process.exit(77); }
far.start(`[[channel]]
kind = "email"
url = "smtp://127.0.0.1:${smtp}"
insecure_loopback = true
from = "brimwatch@example.org"
to = ["you@example.org"]
picture = false
page_url = "${origin}"
[[watch]]
symbol = "KLVN"
pivot = 48.35
[[watch]]
symbol = "ORRI"
pivot = 112.5
`);
const mails = () => fs.readdirSync(file('mails')).filter((name) => name.endsWith('.json')).map((name) => JSON.parse(fs.readFileSync(path.join(file('mails'), name))));
const mailOf = (what) => until('the mail of ' + what, () => mails().find((mail) => mail.subject.includes(what)));
const linkOf = (mail, words) => new RegExp(words + ':\\s+(https\\S+)').exec(mail.plain)[1];

function open(profile) {
  return chromium.launchPersistentContext(file(profile), { executablePath: '/usr/bin/chromium', viewport: { width: 400, height: 800 }, args: far.browser });
}
// As a phone's mail program does it: the link opens in the browser.
async function opened(context, link) {
  const page = await context.newPage();
  await page.goto(link);
  return page;
}
const words = (page, what) => until(what, async () => (await page.textContent('#ask-words')).includes(what));
async function answered(context, link, what) {
  const page = await opened(context, link);
  await until('the question', () => page.isVisible('#ask'));
  await page.click('#ask-yes');
  await words(page, what);
  await page.close();
}

// A guard of mail that follows every link, a reader that fetches ahead: by whatever method that asks for nothing.
async function lookingChangesNothing(link, context) {
  const agent = new https.Agent({ ca: pem, lookup: (_, options, done) => options.all ? done(null, [{ address: '127.0.0.1', family: 4 }]) : done(null, '127.0.0.1', 4) });
  const token = link.split('#answer=')[1];
  for (const method of ['GET', 'HEAD', 'OPTIONS'])
    for (const to of [link, `${origin}/answer?token=${token}`, `${origin}/?answer=${token}`])
      await new Promise((done) => https.request(to, { agent, method, servername: HOST }, (reply) => { reply.resume(); reply.on('end', done); }).on('error', done).end());
  const page = await opened(context, origin);
  await page.evaluate((to) => { document.head.append(Object.assign(document.createElement('link'), { rel: 'prefetch', href: to })); return fetch(to).then((reply) => reply.text()); }, link);
  await page.close();
  const asked = await opened(context, link);
  await until('the question', () => asked.isVisible('#ask'));
  assert.equal(asked.url(), origin + '/', 'the link stays in no history');
  await asked.screenshot({ path: 'mail-link.png' });
  await asked.click('#ask-no');
  assert.equal(await asked.isVisible('#ask'), false);
  await asked.close();
  assert.deepEqual(answers(), []);
}
async function aClickAnswersOnce(link, context) {
  await answered(context, link, 'KLVN 48.35 is muted until');
  const [mute] = answers();
  assert.deepEqual([mute.kind, mute.symbol, mute.pivot, mute.who], ['mute', 'KLVN', '48.35', 'mail']);
  await answered(context, link, 'Nothing was done: this has been answered already; nothing was changed');
  far.kill('SIGHUP');
  await until('the reload', () => log.text.includes('reloaded'));
  await answered(context, link, 'this has been answered already');
  assert.equal(answers().length, 1);
}
async function thePriceIsAsked(link, context) {
  const page = await opened(context, link);
  await page.fill('#link-price', '4860');
  await page.click('#ask-yes');
  await words(page, 'Nothing was done: price: found 4860');
  await page.fill('#link-price', '48.60'), await page.fill('#link-shares', '12.5');
  await page.click('#ask-yes');
  await words(page, 'KLVN is held from 48.60, 12.5 shares');
  assert.equal(await page.isVisible('#ask-yes'), false);
  await page.close();
}
// By hands of the test's own (RFC 2104, RFC 4648): the key beside the journal makes a link that is a second too old, and one
// that says something else than what was signed.
async function oldAndForgedAreRefused(link, context) {
  const key = Buffer.from(fs.readFileSync(file('answer.key'), 'utf8'), 'base64'), [payload, mac] = link.split('#answer=')[1].split('.');
  const said = JSON.parse(Buffer.from(payload, 'base64url')), sign = (text) => crypto.createHmac('sha256', key).update(text).digest('base64url');
  assert.equal(mac, sign(Buffer.from(payload, 'base64url')));
  const made = (what, by = sign) => { const text = JSON.stringify(what); return `${origin}/#answer=${Buffer.from(text).toString('base64url')}.${by(text)}`; };
  const before = answers().length, now = Math.floor(Date.now() / 1000);
  assert.ok(said.expires > now && said.expires <= now + 86400, 'a day');
  await answered(context, made({ ...said, for: 'today', expires: now - 1 }), 'Nothing was done: this link has expired: it is good for a day; nothing was changed');
  await answered(context, made({ ...said, for: 'today' }, () => mac), 'this link was not made here, or a part of it is missing; nothing was changed');
  assert.equal(answers().length, before);
}
// What was dropped since is watched no more, whatever an old mail offers.
async function ofWhatWasDroppedNothingIsMuted(context) {
  const link = linkOf(await mailOf('ORRI crossed'), 'Mute for today');
  assert.ok(say('watch', 'drop', 'ORRI').done);
  await answered(context, link, 'Nothing was done: symbol: found "ORRI", expected one that is watched');
}
async function aForeignDeviceGetsNothing(link) {
  const stranger = await open('stranger'), before = answers().length;
  const page = await opened(stranger, link);
  assert.match(await page.innerText('body'), /not paired/);
  const outcome = await page.evaluate(async (token) => (await fetch('/answer?token=x', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ ask: 'link', token }) })).status, link.split('#answer=')[1]);
  assert.equal(outcome, 401);
  const { link: pairing } = say('page', 'pair', '--name', 'looker');  // it may look, and no more
  await page.goto(pairing);
  await until('the board', async () => /KLVN/.test(await page.innerText('body')));
  const looker = await opened(stranger, link);
  await looker.click('#ask-yes');
  await until('a refusal', async () => /Nothing was done/.test(await looker.textContent('#ask-words')));
  await looker.screenshot({ path: 'mail-link-looker.png' });
  assert.match(await looker.textContent('#ask-words'), /may look/);
  assert.equal(answers().length, before);
  await stranger.close();
}

let context;
try {
  await until('the page for devices', () => log.text.includes('status page for devices: ' + origin));
  context = await open('phone');
  const page = await context.newPage();
  await page.goto(say('page', 'pair', '--name', 'phone', '--right', 'answer').link);
  await until('the board', async () => /KLVN/.test(await page.innerText('body')));
  for (const [symbol, price] of [['KLVN', 48.2], ['ORRI', 112], ['KLVN', 48.41], ['ORRI', 112.7]]) tick(symbol, price);
  const mail = await mailOf('KLVN crossed'), mute = linkOf(mail, 'Mute for an hour');
  assert.ok(mail.html.includes(mute.replaceAll('&', '&amp;')), 'the same link in the page of the mail');
  await lookingChangesNothing(mute, context);
  await aForeignDeviceGetsNothing(mute);
  await aClickAnswersOnce(mute, context);
  await thePriceIsAsked(linkOf(mail, 'I bought it'), context);
  await oldAndForgedAreRefused(mute, context);
  await ofWhatWasDroppedNothingIsMuted(context);
  console.log('mail links: asked, answered once, refused; screenshots in ' + process.cwd());
} finally {
  if (context) await context.close();
  await far.end();
  server.child.kill('SIGTERM');
}
