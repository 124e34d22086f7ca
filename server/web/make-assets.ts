import { readdir, readFile } from 'node:fs/promises';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { type BuildOptions, build, transform } from 'esbuild';
import { type Asset, AssetSet, contentName } from './asset-set.ts';
import { keptScripts } from './kept-offline.ts';

const server = fileURLToPath(new URL('..', import.meta.url));
const files = fileURLToPath(new URL('./assets/', import.meta.url));

/** Makes everything that browsers load from its sources; `npm start` does it at each start, `npm run build` once. */
export async function makeAssets(): Promise<AssetSet> {
  const fonts = await Promise.all(['latin', 'latin-ext'].map(font));
  const [styles, scripts, asTheyAre] = await Promise.all([
    Promise.all(sheets.map((name) => styleSheet(name, fonts))),
    browserModules(),
    Promise.all(plainFiles.map(([name, type, address]) => plainFile(name, type, address))),
  ]);
  return new AssetSet([...fonts, ...styles, ...scripts, ...asTheyAre]);
}

/** The sheet of all pages, and those of single ones. */
const sheets = ['style.css', 'clip-editor.css', 'committee.css', 'crew-board.css', 'official-facts.css'];

/** Under addresses that stay: a manifest and icons are known to devices by them. */
const plainFiles: readonly [name: string, type: string, address?: string][] = [
  ['app.webmanifest', 'application/manifest+json'],
  ['icon-180.png', 'image/png'],
  ['icon-192.png', 'image/png'],
  ['icon-512.png', 'image/png'],
  ['icon-maskable-512.png', 'image/png'],
  ['mark.svg', 'image/svg+xml', '/favicon.ico'],
];

async function plainFile(name: string, type: string, address = `/assets/${name}`): Promise<Asset> {
  return { name, address, type, lasting: false, body: await readFile(path.join(files, name)), needs: [] };
}

const lasting = (name: string, type: string, body: Buffer): Asset => {
  const { name: stem, ext } = path.parse(name);
  return {
    name,
    address: `/assets/${stem}-${contentName(body)}${ext}`,
    type,
    lasting: true,
    body,
    needs: [],
  };
};

/** Source Sans 3 (SIL Open Font License 1.1), as `assets/fonts/subset.mjs` made it. */
async function font(script: string): Promise<Asset> {
  const file = `${script}.woff2`;
  return lasting(file, 'font/woff2', await readFile(path.join(files, 'fonts', file)));
}

/** Its `url("NAME")` are made addresses. */
async function styleSheet(name: string, named: readonly Asset[]): Promise<Asset> {
  let text = await readFile(path.join(files, name), 'utf8');
  for (const one of named) text = text.replaceAll(`url("${one.name}")`, `url("${one.address}")`);
  const { code } = await transform(text, { loader: 'css', minify: true });
  return lasting(name, 'text/css; charset=utf-8', Buffer.from(code));
}

const scriptType = 'text/javascript; charset=utf-8';
/** A worker is known to devices by its address, and all in one file. */
const worker = 'offline';

/**
 * Each part's `browser/pages/NAME.ts` is what a page loads as NAME; what several load is in files of its own. What a device
 * keeps is made by itself: nothing that another page loads may tear its files apart or draw more into them.
 */
async function browserModules(): Promise<Asset[]> {
  const found = await readdir(server, { recursive: true });
  const entries = found.filter((file) => /^[^/\\]+[/\\]browser[/\\]pages[/\\][^/\\]+\.ts$/.test(file));
  const nameOf = (file: string) => `${path.basename(file, '.ts')}.js`;
  const isWorker = (file: string) => path.basename(file, '.ts') === worker;
  const isKept = (file: string) => keptScripts.includes(nameOf(file));
  const made = await Promise.all([
    pageModules(entries.filter(isKept)),
    pageModules(entries.filter((file) => !isWorker(file) && !isKept(file))),
    workerModules(entries.filter(isWorker)),
  ]);
  // What both load alike has the same name in both.
  return [...new Map(made.flat().map((asset) => [asset.address, asset])).values()];
}

const inServer = (names: readonly string[]) => names.map((name) => path.join(server, name));
const building = {
  bundle: true,
  format: 'esm',
  target: 'es2022',
  jsx: 'automatic',
  jsxImportSource: 'preact',
  minify: true,
  outdir: '/assets',
  logLevel: 'silent',
  write: false,
} satisfies BuildOptions;

async function pageModules(entries: readonly string[]): Promise<Asset[]> {
  const { metafile, outputFiles } = await build({
    ...building,
    entryPoints: inServer(entries),
    splitting: true,
    entryNames: '[name]-[hash]',
    chunkNames: 'shared-[hash]',
    metafile: true,
  });
  // Two that differ only in the hash are told apart by their entry; a shared one has none.
  const nameOf = (file: string) => {
    const entry = Object.entries(metafile.outputs).find(([out]) => path.basename(out) === file)?.[1]
      .entryPoint;
    return entry ? `${path.basename(entry, '.ts')}.js` : file;
  };
  const needsOf = (file: string) =>
    Object.entries(metafile.outputs)
      .filter(([out]) => path.basename(out) === file)
      .flatMap(([, { imports }]) => imports)
      .filter(({ kind }) => kind === 'import-statement')
      .map((used) => nameOf(path.basename(used.path)));
  return outputFiles.map(({ path: out, contents }): Asset => {
    const file = path.basename(out);
    const body = Buffer.from(contents);
    return {
      ...{ name: nameOf(file), address: `/assets/${file}`, type: scriptType, lasting: true, body },
      needs: needsOf(file),
    };
  });
}

async function workerModules(entries: readonly string[]): Promise<Asset[]> {
  const { outputFiles } = await build({ ...building, entryPoints: inServer(entries) });
  return outputFiles.map(({ path: out, contents }): Asset => {
    const file = path.basename(out);
    const body = Buffer.from(contents);
    return { name: file, address: `/assets/${file}`, type: scriptType, lasting: false, body, needs: [] };
  });
}
