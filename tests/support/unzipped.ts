import yauzl from 'yauzl';
import type { SignedInAgent } from './signed-in.ts';

/** The files of a ZIP by name. */
export async function unzipped(body: Buffer): Promise<Map<string, Buffer>> {
  const files = new Map<string, Buffer>();
  await new Promise<void>((resolve, reject) => {
    yauzl.fromBuffer(body, { lazyEntries: true }, (error, zip) => {
      if (error) return reject(error);
      zip.on('entry', (entry) =>
        zip.openReadStream(entry, async (wrong, stream) => {
          if (wrong) return reject(wrong);
          const chunks: Buffer[] = [];
          for await (const chunk of stream) chunks.push(chunk as Buffer);
          files.set(entry.fileName, Buffer.concat(chunks));
          zip.readEntry();
        }),
      );
      zip.once('end', resolve);
      zip.readEntry();
    });
  });
  return files;
}

/** The files of the ZIP at an address. */
export const download = async (agent: SignedInAgent, url: string) =>
  unzipped(
    (
      await agent
        .get(url)
        .buffer(true)
        .parse((response, done) => {
          const chunks: Buffer[] = [];
          response.on('data', (chunk: Buffer) => chunks.push(chunk));
          response.on('end', () => done(null, Buffer.concat(chunks)));
        })
    ).body,
  );
