// Phones that are not like the one that the page was made on: small with a large script, an iPhone outside its home screen,
// notices forbidden, a private window, a clock that is wrong. In headless Chromium, on a real daemon's page over TLS.
// Usage: node phones_test.mjs BRIMWATCH. Screenshots go to the working folder, to be looked at.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { chromium } from 'playwright-core';
import { makeFarPage } from './far_page.mjs';

const program = process.argv[2], far = await makeFarPage(program, 'phones'), { file, origin, log, until, say, tick, answers } = far;
far.start(`[[channel]]
kind = "push"
contact = "mailto:me@example.org"
[[watch]]
symbol = "KLVN"
pivot = 48.35
note = "cup with handle"
[[watch]]
symbol = "ORRI"
pivot = 112.5
`);

const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: far.browser });
// A phone of its own, paired.
async function paired(name, options, before) {
  const context = await browser.newContext({ viewport: { width: 360, height: 640 }, ...options });
  if (before) await context.addInitScript(before);
  const page = await context.newPage();
  page.on('pageerror', (error) => { log.text += name + ': ' + error + '\n'; });
  await page.goto(say('page', 'pair', '--name', name, '--right', 'answer').link);
  await until('the board', async () => /KLVN/.test(await page.innerText('#rows').catch(() => '')));
  return page;
}
const pushWords = (page, pattern) => until(pattern, async () => pattern.test(await page.innerText('#push-words')));

// Twice the usual script (the browser's own setting for people who need it) on 360 by 640: nothing runs out of the screen, and
// what is pressed is as large as a finger: 24 CSS pixels at least (WCAG 2.2, success criterion 2.5.8).
async function aLargeScriptFits() {
  const page = await paired('large', {}, () => addEventListener('DOMContentLoaded', () => { document.documentElement.style.fontSize = '200%'; }));
  await page.click('#rows th button:text("KLVN")');
  await page.waitForSelector('#answers:not([hidden])');
  await page.click('#add summary');
  for (const part of ['#answers', '#add', '#push']) {
    await page.$eval(part, (node) => node.scrollIntoView());
    await page.screenshot({ path: `phone-large-${part.slice(1)}.png` });
  }
  const wide = await page.evaluate(() => ({ by: document.documentElement.scrollWidth - innerWidth, what: [...document.querySelectorAll('body *')]
    .filter((node) => node.checkVisibility() && node.getBoundingClientRect().right > innerWidth + 0.5).map((node) => node.outerHTML.slice(0, 60)) }));
  assert.ok(wide.by <= 0, 'wider than the screen: ' + JSON.stringify(wide));
  const small = await page.$$eval('#answers button, #answers input, #add button, #add input, #push button', (all) => all.filter((one) => one.offsetParent)
    .map((one) => ({ what: one.id || one.textContent, ...one.getBoundingClientRect().toJSON() })).filter((one) => one.height < 24 || one.width < 24 || one.right > innerWidth || one.left < 0));
  assert.deepEqual(small, []);
  await page.fill('#own-price', '48.60');
  await page.click('#bought');
  await until('the holding', async () => /held from 48.60/.test(await page.innerText('#answer-words')));
  await page.context().close();
}
// What Safari on an iPhone says of itself (the part of its user agent that names the device, from memory), where it has no push
// outside the home screen.
async function anIPhoneSaysWhatToDo() {
  const page = await paired('iphone', { userAgent: 'Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X)' },
    () => { delete window.PushManager; delete window.Notification; });
  await pushWords(page, /Share, Add to Home Screen/);
  assert.equal(await page.isVisible('#push-button'), false);
  await page.$eval('#push', (node) => node.scrollIntoView());
  await page.screenshot({ path: 'phone-iphone.png' });
  await page.context().close();
}
async function forbiddenNoticesAreSaid() {
  const page = await paired('denied', {}, () => {
    Object.defineProperty(Notification, 'permission', { get: () => window.kept ?? 'default' });
    Notification.requestPermission = async () => (window.kept = 'denied');
  });
  await page.click('#push-button');
  await pushWords(page, /told not to show notices.*settings/);
  assert.equal(say('page', 'devices').devices.find((one) => one.name === 'denied').push, 0);
  await page.context().close();
  const again = await paired('denied before', {}, () => Object.defineProperty(Notification, 'permission', { get: () => 'denied' }));
  await pushWords(again, /told not to show notices/);
  assert.equal(await again.isVisible('#push-button'), false, 'nothing to press that does nothing');
  await again.context().close();
}
// Private windows have no service worker, or one that may not be registered.
async function aPrivateWindowAnswersAndSaysThatItIsNotNotified() {
  const page = await paired('private', {}, () => { delete Navigator.prototype.serviceWorker; });
  await pushWords(page, /private window/);
  await page.click('#rows th button:text("ORRI")');
  await page.click('#mute-hour');
  await until('the mute', async () => /ORRI 112.50 is muted/.test(await page.innerText('#answer-words')));
  await page.context().close();
  const other = await paired('no worker', {}, () => { navigator.serviceWorker.register = () => Promise.reject(new Error('The operation is insecure.')); });
  await pushWords(other, /private window.*insecure/);
  await other.context().close();
}
// Four years ahead, an hour behind: what is answered is kept by the daemon's clock and the feed's.
async function aPhonesClockCountsForNothing() {
  const page = await paired('wrong clock', {});
  await page.clock.setFixedTime(new Date('2030-01-01T00:00:00Z'));
  await page.click('#rows th button:text("KLVN")');
  await page.click('#mute-hour');
  await until('the mute', async () => /KLVN 48.35 is muted until 11:00/.test(await page.innerText('#answer-words')));
  const mute = answers().filter((one) => one.kind === 'mute').pop();
  assert.ok(Math.abs(Date.parse(mute.at) - Date.now()) < 120e3, mute.at);
  assert.equal(mute.who, 'wrong clock');
  assert.match(mute.until, /^2026-10-14T/);
  await page.context().close();
}
// The same button on two phones in one moment: one of them has dropped it, the other is told that it is not there.
async function twoPhonesAtOnce() {
  const both = [await paired('one', {}), await paired('two', {})];
  for (const page of both) {
    await page.click('#rows th button:text("ORRI")');
    await page.click('#drop');
  }
  await Promise.all(both.map((page) => page.click('#drop')));
  const said = await Promise.all(both.map(async (page) => {
    await until('an outcome', async () => /no longer|Nothing was done/.test(await page.innerText('#answer-words', { timeout: 2000 }).catch(() => 'no longer')));
    return page.evaluate(() => document.getElementById('answer-words').textContent);
  }));
  assert.equal(answers().filter((one) => one.kind === 'drop').length, 1, said.join(' | '));
  for (const page of both) await until('the row to go', async () => !(await page.$('#rows th button:text("ORRI")')));
  assert.equal(said.filter((one) => /Nothing was done: symbol: found "ORRI"/.test(one)).length, 1, said.join(' | '));
  for (const page of both) await page.context().close();
}

try {
  await until('the page for devices', () => log.text.includes('status page for devices: ' + origin));
  for (const [symbol, price] of [['KLVN', 48.2], ['ORRI', 112], ['KLVN', 48.41], ['ORRI', 112.7]]) tick(symbol, price);
  await until('the crossing', () => execFileSync(program, ['journal', '--json', '--journal', file('j.db')]).toString().includes('"crossed"'));
  await aLargeScriptFits();
  await anIPhoneSaysWhatToDo();
  await forbiddenNoticesAreSaid();
  await aPrivateWindowAnswersAndSaysThatItIsNotNotified();
  await aPhonesClockCountsForNothing();
  await twoPhonesAtOnce();
  console.log('phones: six kinds; screenshots in ' + process.cwd());
} finally {
  await browser.close();
  await far.end();
}
