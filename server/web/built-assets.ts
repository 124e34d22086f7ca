import { existsSync } from 'node:fs';
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { type Asset, AssetSet, type Encoding, isWorthPacking, pack } from './asset-set.ts';

/** Where `npm run build` leaves what browsers load, beside this file's own place in the built folder. */
const builtFolder = fileURLToPath(new URL('./built-assets/', import.meta.url));
const list = 'assets.json';

export const isBuilt = () => existsSync(path.join(builtFolder, list));

/** Everything is read into memory: it is less than a megabyte. */
export async function readBuiltAssets(folder = builtFolder) {
  const listed: Omit<Asset, 'body'>[] = JSON.parse(await readFile(path.join(folder, list), 'utf8'));
  const read = async (asset: Omit<Asset, 'body'>): Promise<Asset> => ({
    ...asset,
    body: await readFile(path.join(folder, asset.name)),
  });
  const set = new AssetSet(await Promise.all(listed.map(read)));
  const packings = set.all.filter(isWorthPacking).flatMap(({ name }) => [`${name}.br`, `${name}.gzip`]);
  const packed = new Map(
    await Promise.all(packings.map(async (file) => [file, await readFile(path.join(folder, file))] as const)),
  );
  return {
    set,
    packed: async (asset: Asset, encoding: Encoding) => packed.get(`${asset.name}.${encoding}`)!,
  };
}

/** Writes them with their packings, made as small as they get. */
export async function writeBuiltAssets(set: AssetSet, folder: string): Promise<void> {
  await mkdir(folder, { recursive: true });
  await Promise.all(
    set.all.map(async (asset) => {
      const file = path.join(folder, asset.name);
      await writeFile(file, asset.body);
      if (!isWorthPacking(asset)) return;
      for (const encoding of ['br', 'gzip'] as const)
        await writeFile(`${file}.${encoding}`, await pack(asset.body, encoding));
    }),
  );
  const listed = set.all.map(({ body: _body, ...asset }) => asset);
  await writeFile(path.join(folder, list), `${JSON.stringify(listed, null, 1)}\n`);
}
