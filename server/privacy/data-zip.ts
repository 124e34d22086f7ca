import type { Readable } from 'node:stream';
import yazl from 'yazl';
import type { OwnData } from './own-data.ts';

/** A person's data as a ZIP. @param voice files of what they spoke, by the name that they get */
export function dataZip(data: OwnData, voice: ReadonlyMap<string, string>): Readable {
  const zip = new yazl.ZipFile();
  const text = (name: string, content: string) => zip.addBuffer(Buffer.from(content), name);
  text('README.txt', data.about);
  text('data.json', JSON.stringify(data.tables, null, 1));
  text('names.json', JSON.stringify(data.names, null, 1));
  for (const { name, pdf } of data.letters) zip.addBuffer(pdf, `letters/${name}`, { compress: false });
  for (const [name, file] of voice) zip.addFile(file, `voice/${name}`, { compress: false });
  zip.end();
  return zip.outputStream as Readable;
}
