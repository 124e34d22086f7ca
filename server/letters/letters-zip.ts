import type { Readable } from 'node:stream';
import yazl from 'yazl';
import { letterFileName, type readLetterWithPdf } from './kept-letters.ts';

/**
 * A ZIP of letters as a stream.
 * @param read each letter when its turn comes, so memory holds one at a time
 */
export function zipOfLetters(
  ids: readonly string[],
  read: (id: string) => ReturnType<typeof readLetterWithPdf>,
): Readable {
  const zip = new yazl.ZipFile();
  void (async () => {
    const taken = new Set<string>();
    for (const id of ids) {
      const { letter, pdf } = await read(id);
      let name = letterFileName(letter);
      for (let copy = 2; taken.has(name); copy += 1)
        name = name.replace(/(?: \(\d+\))?\.pdf$/, ` (${copy}).pdf`);
      taken.add(name);
      // PDFs are compressed inside already.
      zip.addBuffer(pdf, name, { compress: false, mtime: letter.createdAt });
    }
    zip.end();
  })().catch((error) => (zip.outputStream as Readable).destroy(error));
  return zip.outputStream as Readable;
}
