import type { Readable } from 'node:stream';
import yazl from 'yazl';
import type { Database } from '../database/database.ts';
import { letterFileName, readLetter, readLetterPdf } from './kept-letters.ts';

/** A ZIP of letters as a stream; each PDF is read when its turn comes, so memory holds one at a time. */
export function zipOfLetters(
  database: Pick<Database, 'prisma'>,
  conferenceId: string,
  ids: readonly string[],
): Readable {
  const zip = new yazl.ZipFile();
  void (async () => {
    const taken = new Set<string>();
    for (const id of ids) {
      const letter = await readLetter(database, conferenceId, id);
      let name = letterFileName(letter);
      for (let copy = 2; taken.has(name); copy += 1)
        name = name.replace(/(?: \(\d+\))?\.pdf$/, ` (${copy}).pdf`);
      taken.add(name);
      // PDFs are compressed inside already.
      zip.addBuffer(await readLetterPdf(database, conferenceId, id), name, {
        compress: false,
        mtime: letter.createdAt,
      });
    }
    zip.end();
  })().catch((error) => (zip.outputStream as Readable).destroy(error));
  return zip.outputStream as Readable;
}
