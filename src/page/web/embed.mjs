// Puts the page's files together and writes them as a table in C.
// node embed.mjs SOURCE_DIR OUT.c; the packages are found through NODE_PATH.
import { createRequire } from 'node:module';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

const [source, out] = process.argv.slice(2);
const require = createRequire(join(process.env.NODE_PATH, 'x.js'));
const esbuild = require('esbuild');

const types = {
  html: 'text/html; charset=utf-8',
  css: 'text/css; charset=utf-8',
  js: 'text/javascript; charset=utf-8',
};

function bundle(entry) {
  const made = esbuild.buildSync({
    entryPoints: [join(source, entry)],
    bundle: true,
    minify: true,
    legalComments: 'inline',
    format: 'iife',
    target: ['chrome100', 'firefox100', 'safari15'],
    charset: 'utf8',
    write: false,
    nodePaths: [process.env.NODE_PATH],
    logLevel: 'warning',
  });
  return Buffer.from(made.outputFiles[0].contents);
}

const files = {
  'index.html': readFileSync(join(source, 'index.html')),
  'seat.html': readFileSync(join(source, 'seat.html')),
  'app.js': bundle('app.js'),
  'seat.js': bundle('seat.js'),
  'style.css': bundle('style.css'),
};

let text = '/* Made by src/page/web/embed.mjs. */\n#include "src/page/page_assets.h"\n\n';
let table = 'const page_asset PAGE_ASSETS[] = {\n';
for (const [name, data] of Object.entries(files)) {
  const symbol = 'FILE_' + name.replace(/[^a-z]/g, '_').toUpperCase();
  const rows = [];
  for (let i = 0; i < data.length; i += 24) {
    rows.push([...data.subarray(i, i + 24)].join(','));
  }
  text += `static const unsigned char ${symbol}[] = {\n${rows.join(',\n')}};\n`;
  const type = types[name.split('.').pop()];
  table += `    {"/${name}", "${type}", ${symbol}, sizeof ${symbol}},\n`;
}
writeFileSync(out, text + '\n' + table + '    {0, 0, 0, 0},\n};\n');
