// A daemon whose page is beyond this machine, as a phone meets it: over TLS and by a name, with ticks through a pipe.
import { execFileSync, spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { CHROMIUM, until as waitUntil } from './chromium.mjs';
import { startDaemon } from './kit.mjs';
import { certificate, freePort, spki } from './places.mjs';

export const HOST = 'desk.brim.test';

// A folder of its own with certificate and pipe. The daemon begins with start(), by [page], the pipe's [feed] and `more`.
export async function makeFarPage(program, name) {
  const where = fs.mkdtempSync(path.join(os.tmpdir(), `brimwatch-${name}-`)), file = (one) => path.join(where, one);
  const port = await freePort(), origin = `https://${HOST}:${port}`, pem = certificate(where, 'page', HOST), log = { text: '' };
  execFileSync('mkfifo', [file('ticks')]);
  let daemon, pipe, second = 0;
  return {
    where, file, port, origin, pem, log,
    until: (what, condition) => waitUntil(what, condition, () => log.text),
    // For a browser that knows the name and trusts the certificate.
    browser: [...CHROMIUM, `--host-resolver-rules=MAP ${HOST} 127.0.0.1`, `--ignore-certificate-errors-spki-list=${spki(pem)}`],
    start(more) {
      daemon = startDaemon(program, where, `
[page]
on = true
port = 0
listen = "127.0.0.1:${port}"
address = "${origin}"
certificate = "page.pem"
key = "page.key"
[feed]
kind = "pipe"
past_days = "tell"
command = ["/bin/cat", "${file('ticks')}"]
${more}`, log);
      pipe = fs.createWriteStream(file('ticks'), { flags: 'r+' });
    },
    kill: (signal) => daemon.child.kill(signal),
    // A trade, a second after the last one.
    tick(symbol, price, size = 5000) {
      const time = new Date(Date.UTC(2026, 9, 14, 14, 0, second++)).toISOString().slice(0, 19) + 'Z';
      pipe.write(JSON.stringify({ time, symbol, price: price.toFixed(2), size }) + '\n');
    },
    // What a command at the control socket answers.
    say(...words) {
      const ran = spawnSync(program, [...words, '--socket', file('sock'), '--json']);
      return JSON.parse(ran.stdout.toString() || JSON.stringify({ error: ran.stderr.toString() }));
    },
    answers: () => spawnSync(program, ['journal', 'answers', '--json', '--journal', file('j.db')]).stdout.toString().split('\n').filter(Boolean).map((line) => JSON.parse(line)),
    async end() {
      daemon.child.kill('SIGTERM');
      await daemon.ended;
      pipe.destroy();
      fs.rmSync(where, { recursive: true, force: true });
    },
  };
}
