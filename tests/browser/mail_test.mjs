// A mail of the demo's half-day as a person sees it: narrow, wide, light and dark, in a real browser; screenshots are kept.
// mail_test.mjs BRIMWATCH SOURCE_DIR
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { faults, launch } from './kit.mjs';

const [brimwatch, source] = process.argv.slice(2);
const where = fs.mkdtempSync(path.join(os.tmpdir(), 'brimwatch-mail-'));
let browser;
try {
  execFileSync(path.join(source, 'scripts/demo-tape'), [where]);
  fs.copyFileSync(path.join(source, 'config/samples/demo/brimwatch.toml'), path.join(where, 'brimwatch.toml'));
  execFileSync(brimwatch, ['replay', path.join(where, 'half-day.csv'), '--config', path.join(where, 'brimwatch.toml'), '--deliver']);
  const mails = fs.readdirSync(path.join(where, 'mails')).filter((name) => name.endsWith('.eml')).sort();
  const crossed = mails.find((name) => fs.readFileSync(path.join(where, 'mails', name), 'latin1').match(/^Subject: .*crossed/m));
  assert.ok(crossed, mails.join(' '));
  const html = path.join(where, 'mail.html');
  const mail = JSON.parse(execFileSync('/usr/bin/python3', [path.join(source, 'tests/browser/mail_page.py'), path.join(where, 'mails', crossed), html]));
  assert.deepEqual(mail.parts, ['multipart/alternative', 'text/plain', 'multipart/related', 'text/html', 'image/png', 'image/png']);
  assert.match(mail.plain, /crossed .*; range to /);  // stands alone
  assert.match(mail.plain, /odds of \+40 %/);

  browser = await launch();
  for (const [name, width, scheme] of [['mail-narrow', 320, 'light'], ['mail-narrow-dark', 320, 'dark'], ['mail-wide', 800, 'light']]) {
    const page = await browser.newPage({ viewport: { width, height: 700 }, colorScheme: scheme });
    await page.goto('file://' + html);
    await page.screenshot({ path: name + '.png', fullPage: true });
    const seen = await page.evaluate(() => {
      const images = [...document.querySelectorAll('img')].filter((one) => one.getBoundingClientRect().width > 0), image = images[0];
      return { wide: document.documentElement.scrollWidth, real: [image.naturalWidth, image.naturalHeight], shown: image.getBoundingClientRect().width,
        alt: image.alt, shown_of: images.length, look: image.className, note: document.querySelector('.note')?.textContent, ground: getComputedStyle(document.body).backgroundColor };
    });
    assert.ok(seen.wide <= width, name + ' is too wide');
    assert.deepEqual(seen.real, [720, 600]);
    assert.ok(seen.shown > 200 && seen.shown <= width, 'the picture is ' + seen.shown + ' wide');
    assert.deepEqual([seen.shown_of, seen.look], [1, scheme === 'dark' ? 'dim' : 'bright'], 'not the one picture for this ground');
    assert.match(seen.note, /^\s*Note: cup with handle/);
    assert.match(seen.alt, /^The day of \S+ so far: price [\d.]+, pivot /);
    assert.equal(seen.ground, scheme === 'dark' ? 'rgb(18, 18, 18)' : 'rgb(255, 255, 255)');
    assert.deepEqual(await faults(page), [], name);
    await page.close();
  }
  console.log('mail: all is well; screenshots in ' + process.cwd());
} finally {
  if (browser) await browser.close();
  fs.rmSync(where, { recursive: true, force: true });
}
