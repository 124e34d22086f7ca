import { readdir, realpath, stat } from 'node:fs/promises';
import path from 'node:path';
import { textFault } from '../text/keepable.ts';

/** A file that whoever runs the server put into the folder of a conference. */
interface OfferedFile {
  /** With its folders, parted by `/`. */
  readonly name: string;
  readonly bytes: number;
}

const mostFiles = 500;
const deepest = 4;
const ofFilms = /\.(mp4|m4v|mov|mkv|webm|ts|mts|m2ts)$/i;

/**
 * What FILM_DIR offers a conference: the films in its folder there, which is named as the conference is in addresses.
 * Nothing outside that folder, whatever links lie in it.
 */
export async function offeredFiles(filmDir: string | undefined, slug: string): Promise<OfferedFile[]> {
  if (filmDir === undefined) return [];
  const root = await realpath(path.join(filmDir, slug)).catch(() => undefined);
  if (root === undefined) return [];
  const found: OfferedFile[] = [];
  const walk = async (folder: string, depth: number): Promise<void> => {
    const entries = await readdir(folder, { withFileTypes: true }).catch(() => []);
    for (const entry of entries.sort((one, other) => (one.name < other.name ? -1 : 1))) {
      if (entry.name.startsWith('.') || textFault(entry.name) || found.length >= mostFiles) continue;
      const place = path.join(folder, entry.name);
      if (entry.isDirectory()) {
        if (depth < deepest) await walk(place, depth + 1);
      } else if (entry.isFile() && ofFilms.test(entry.name)) {
        const { size } = await stat(place);
        found.push({ name: path.relative(root, place).replaceAll(path.sep, '/'), bytes: size });
      }
    }
  };
  await walk(root, 1);
  return found;
}

/** Where an offered file is; undefined when it is not offered (any more). */
export async function placeOfOffered(
  filmDir: string | undefined,
  slug: string,
  name: string,
): Promise<string | undefined> {
  const parts = name.split('/');
  const isName = (part: string) => part !== '' && !part.startsWith('.') && !/[\\\0]/.test(part);
  if (filmDir === undefined || !ofFilms.test(name) || parts.length > deepest || !parts.every(isName))
    return undefined;
  const root = await realpath(path.join(filmDir, slug)).catch(() => undefined);
  if (root === undefined) return undefined;
  const place = path.join(root, ...parts);
  // Where a link is on the way, it is really elsewhere.
  const [real, found] = await Promise.all([
    realpath(place).catch(() => undefined),
    stat(place).catch(() => undefined),
  ]);
  return real === place && found?.isFile() ? place : undefined;
}
