// A house of two daemons on a real etcd, as scripts/etcd-try starts it and by the [shared] that it prints: the page and `brimwatch now` of the
// machine that stands by, and of the same once the other is killed. Usage: node house_test.mjs BRIMWATCH ETCD_TRY.
import assert from 'node:assert/strict';
import { execFileSync, spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { addressOf, complaintsOf, faults, launch, start, startDaemon, until as waitUntil } from './kit.mjs';

const [program, etcdTry] = process.argv.slice(2);
if (spawnSync('etcd', ['--version']).error) {
  console.log('skipped: etcd is not installed');
  process.exit(77);
}
const where = fs.mkdtempSync(path.join(os.tmpdir(), 'brimwatch-house-'));
const etcd = start(etcdTry, [String(21000 + (process.pid % 500) * 20)]);
const daemons = [], logs = [etcd.log];
const until = (what, condition) => waitUntil(what, condition, () => logs.map((log) => log.text).join('\n'));
function member(name, shared) {
  const folder = path.join(where, name);
  fs.mkdirSync(folder);
  const log = { text: '' };
  const toml = `${shared.replace('"home"', JSON.stringify(name))}
[market]
trend = "up"
[page]
on = true
port = 0
[[feed]]
kind = "pipe"
past_days = "tell"
command = ["/usr/bin/tail", "-n", "+1", "-f", "${where}/ticks"]
[[channel]]
name = "out"
kind = "console"
[[watch]]
symbol = "KLVN"
pivot = 48.35
normal_volume = 1_300_000
`;
  const one = startDaemon(program, folder, toml, log);
  daemons.push(one.child), logs.push(log);
  const now = (...words) => execFileSync(program, ['now', '--socket', path.join(folder, 'sock'), ...words], { encoding: 'utf8' });
  const role = () => { try { return JSON.parse(now('--json')).shared.role; } catch { return ''; } };
  return { ...one, now, role };
}
// Lines are wrapped for a person.
const inOneLine = (text) => text.replace(/\s+/g, ' ');

let browser;
try {
  fs.writeFileSync(path.join(where, 'ticks'), '{"time":"2026-10-14T10:00:00-04:00","symbol":"KLVN","price":48.20,"size":5000}\n');
  const shared = (await until('the [shared] of etcd-try', () => etcd.log.text.match(/(\[shared\][^]*?\n)\n/)))[1];
  const home = member('home', shared);
  await until('home to speak', () => home.role() === 'speaking');
  const cloud = member('cloud', shared);
  await until('cloud to stand by', () => cloud.role() === 'standing by' && JSON.parse(cloud.now('--json')).shared.members.length === 2);
  await until('its price', () => JSON.parse(cloud.now('--json')).watches[0].last !== null);

  const screen = inOneLine(cloud.now());
  assert.match(screen, /home speaks since/);
  assert.match(screen, /STANDING BY/i);

  browser = await launch();
  const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
  const complaints = complaintsOf(page);
  await page.goto(await addressOf(cloud.log));
  const members = () => page.textContent('#members');
  await until('the page of one that stands by', async () => /home speaks since .*standing by: cloud; this machine is cloud/.test(await members()));
  const text = inOneLine(await page.evaluate(() => document.body.innerText));
  assert.match(text, /STANDING BY/);
  assert.match(text, /This machine watches and tells nothing while home speaks/);
  await page.screenshot({ path: 'house_stands_by.png', fullPage: true });
  assert.deepEqual(await faults(page), []);
  await page.setViewportSize({ width: 390, height: 844 });
  await page.screenshot({ path: 'house_stands_by_390.png', fullPage: true });
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth), 'nothing is wider than the screen');

  home.child.kill('SIGKILL');
  await page.setViewportSize({ width: 1440, height: 900 });
  await until('a takeover, on the page', async () => /cloud speaks since .*nobody stands by; this machine is cloud/.test(await members()));
  await until('the takeover among the notices', async () => /home fell silent by/.test(inOneLine(await page.textContent('#notice-list'))));
  assert.doesNotMatch(await page.evaluate(() => document.body.innerText), /STANDING BY/);
  await page.screenshot({ path: 'house_took_over.png', fullPage: true });
  assert.match(inOneLine(cloud.now()), /cloud speaks since/);
  assert.deepEqual(complaints, []);
  console.log('house: the page of one that stands by, and of one that took over; screenshots in ' + process.cwd());
} finally {
  if (browser) await browser.close();
  for (const child of daemons) child.kill('SIGKILL');
  etcd.child.kill('SIGTERM');
  await etcd.ended;
  fs.rmSync(where, { recursive: true, force: true });
}
