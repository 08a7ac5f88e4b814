// The board fills while a tape is played as a live source: `brimwatch serve` as the exchange, a daemon under the [[feed]] that it
// prints, the page in headless Chromium. Usage: node served_test.mjs BRIMWATCH DEMO_TAPE DEMO_CONFIGURATION.
import assert from 'node:assert/strict';
import { execFileSync, spawn } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { chromium } from 'playwright-core';
import { CHROMIUM, until as waitUntil } from './chromium.mjs';

const [program, makeTape, demo] = process.argv.slice(2), where = fs.mkdtempSync(path.join(os.tmpdir(), 'brimwatch-served-'));
let log = '';
function start(...words) {
  const child = spawn(program, words, { env: { ...process.env, TZ: 'UTC' } });
  child.stderr.on('data', (bytes) => { log += bytes; });
  return child;
}
const until = (what, condition) => waitUntil(what, condition, () => log);

execFileSync(makeTape, [where]);
const serve = start('serve', path.join(where, 'day.csv'), '--as', 'stream', '--speed', '120', '--from', '10:20');
let printed = '', daemon, browser;
serve.stdout.on('data', (bytes) => { printed += bytes; });
try {
  const feed = (await until('the [[feed]] of serve', () => printed.match(/^(\[\[feed\]\][^]*?\n)\n/m)))[1];
  const lists = fs.readFileSync(demo, 'utf8').replace(/\[feed\][^]*?(?=\n\[)/, '').replace(/\[\[channel\]\][^]*?(?=\n\[\[?(?!channel)|$)/g, '');
  fs.writeFileSync(path.join(where, 'b.toml'), `${lists}\n${feed}\n[page]\non = true\nport = 0\n[[channel]]\nname = "out"\nkind = "console"\n`);
  daemon = start('run', '--config', path.join(where, 'b.toml'), '--journal', path.join(where, 'j.db'), '--socket', path.join(where, 'sock'));
  daemon.stdout.resume();
  const address = (await until('the address', () => log.match(/status page: (http:\S+)/)))[1];
  browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: CHROMIUM });
  const page = await browser.newPage({ viewport: { width: 1400, height: 950 } });
  await page.goto(address);
  const rows = () => page.$$eval('#rows tr', (all) => all.map((row) => row.innerText));
  await until('the board to fill', async () => (await rows()).filter((row) => /\d\.\d/.test(row)).length >= 10);
  await until('a crossing of the tape', () => page.$$eval('#notice-list li', (all) => all.some((one) => /HALQ crossed 19\.45/.test(one.textContent))));
  assert.match((await rows()).find((row) => row.includes('HALQ')), /inside|over|under/);
  await page.screenshot({ path: 'served.png', fullPage: true });
  console.log('served: the board filled; screenshot in ' + process.cwd());
} finally {
  if (browser) await browser.close();
  if (daemon) daemon.kill('SIGKILL');
  serve.kill('SIGKILL');
  fs.rmSync(where, { recursive: true, force: true });
}
