// The board fills while a tape is played as a live source: `brimwatch serve` as the exchange, a daemon under the [[feed]] that it
// prints, the page in headless Chromium. Usage: node served_test.mjs BRIMWATCH DEMO_TAPE DEMO_CONFIGURATION.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { addressOf, launch, start, startDaemon, until as waitUntil } from './kit.mjs';

const [program, makeTape, demo] = process.argv.slice(2), where = fs.mkdtempSync(path.join(os.tmpdir(), 'brimwatch-served-'));
const said = { text: '' };
const until = (what, condition) => waitUntil(what, condition, () => said.text);

execFileSync(makeTape, [where]);
// The source prints its [[feed]] alone on its output, and the rest on the other stream: both are read here, and only the former has a table.
const source = start(program, ['serve', path.join(where, 'day.csv'), '--as', 'stream', '--speed', '120', '--from', '10:20']);
let daemon, browser;
try {
  const feed = (await until('the [[feed]] of serve', () => source.log.text.match(/^(\[\[feed\]\][^]*?\n)\n/m)))[1];
  const lists = fs.readFileSync(demo, 'utf8').replace(/\[feed\][^]*?(?=\n\[)/, '').replace(/\[\[channel\]\][^]*?(?=\n\[\[?(?!channel)|$)/g, '');
  daemon = startDaemon(program, where, `${lists}\n${feed}\n[page]\non = true\nport = 0\n[[channel]]\nname = "out"\nkind = "console"\n`, said);
  const address = await addressOf(said);
  browser = await launch();
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
  if (daemon) daemon.child.kill('SIGKILL');
  source.child.kill('SIGKILL');
  fs.rmSync(where, { recursive: true, force: true });
}
