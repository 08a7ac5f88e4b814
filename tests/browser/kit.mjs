// What the browser tests share: the browser, a daemon of one's own, axe-core, and waiting with a deadline.
import { spawn } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { chromium } from 'playwright-core';
import { CHROMIUM, until } from './chromium.mjs';

export { until };
export const launch = () => chromium.launch({ executablePath: '/usr/bin/chromium', args: CHROMIUM });

// What axe-core finds that is serious or critical, one text each. It is put in by the debugger: the page's policy stays in force.
export async function faults(page) {
  await page.evaluate(fs.readFileSync('node_modules/axe-core/axe.min.js', 'utf8'));
  const found = await page.evaluate(() => window.axe.run({ resultTypes: ['violations'] }));
  return found.violations.filter((v) => ['serious', 'critical'].includes(v.impact)).map((v) => v.id + ': ' + v.nodes.map((n) => n.html + ' ' + n.failureSummary).join('; '));
}
// Fills with what the page complains of, in its console and by exceptions.
export function complaintsOf(page) {
  const complaints = [];
  page.on('console', (message) => { if (['error', 'warning'].includes(message.type())) complaints.push(message.text()); });
  page.on('pageerror', (error) => complaints.push(String(error)));
  return complaints;
}
// A program of ours; `log.text` is what it has said on both streams.
export function start(program, words, log = { text: '' }) {
  const child = spawn(program, words, { env: { ...process.env, TZ: 'UTC' } });
  for (const stream of [child.stdout, child.stderr]) stream.on('data', (bytes) => { log.text += bytes; });
  return { child, log, ended: new Promise((done) => child.on('exit', done)) };
}
// A daemon in a folder of its own, by the configuration `toml` as b.toml, with its journal and socket beside it.
export function startDaemon(program, where, toml, log) {
  fs.writeFileSync(path.join(where, 'b.toml'), toml);
  return start(program, ['run', '--config', path.join(where, 'b.toml'), '--journal', path.join(where, 'j.db'), '--socket', path.join(where, 'sock')], log);
}
export const addressOf = async (log) => (await until('the address of the page', () => log.text.match(/status page: (http:\S+)/), () => log.text))[1];
