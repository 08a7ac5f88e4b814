// The page's writers of numbers against the table that those of the notices are held against. Usage: node numbers_test.mjs PAGE_FOLDER TABLE.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';

const [folder, file] = process.argv.slice(2), table = JSON.parse(fs.readFileSync(file, 'utf8'));
// Node takes a file named .js for a module where its package says so: a copy beside such a package.
const copy = fs.mkdtempSync(path.join(process.cwd(), 'page-'));
for (const name of ['text.js', 'state.js']) fs.copyFileSync(path.join(folder, name), path.join(copy, name));
fs.writeFileSync(path.join(copy, 'package.json'), '{"type":"module"}');
const text = await import(pathToFileURL(path.join(copy, 'text.js')));
fs.rmSync(copy, { recursive: true });
for (const [value, wanted] of table.price) assert.equal(text.price(value), wanted);
for (const [value, wanted] of table.shares) assert.equal(text.shares(value), wanted);
for (const [odds, weight, wanted] of table.odds) assert.equal(text.odds({ odds, weight }), wanted);
for (const [value, digits, wanted] of table.percent) assert.equal(text.signed(value, digits).replace('\u2212', '-'), wanted);
console.log('numbers: the page writes', Object.values(table).flat().length, 'of them as the notices do');
