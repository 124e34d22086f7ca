import { createHash } from 'node:crypto';
import { createWriteStream } from 'node:fs';
import type { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { promisify } from 'node:util';
import yauzl from 'yauzl';
import yazl from 'yazl';
import type { Manifest } from '../../server/backup/manifest.ts';
import { commentWithRoom, Sealing } from '../../server/backup/seal.ts';

/**
 * Writes a backup anew with other content and a seal that holds, as somebody could who knows the form.
 * @param change gets the files by name and the manifest to change
 */
export async function rewritten(
  from: string,
  to: string,
  change: (files: Map<string, Buffer>, manifest: Manifest) => void,
): Promise<void> {
  const files = await filesOf(from);
  const manifest: Manifest = JSON.parse(files.get('manifest.json')!.toString());
  change(files, manifest);
  files.set('manifest.json', Buffer.from(JSON.stringify(manifest)));
  const zip = new yazl.ZipFile();
  for (const [name, bytes] of files) zip.addBuffer(bytes, name, { compress: !name.endsWith('.txt') });
  zip.end({ comment: commentWithRoom, forceZip64Format: false });
  await pipeline(zip.outputStream as Readable, new Sealing(), createWriteStream(to));
}

/** Other rows of a table, told by the manifest as if they had been written so. */
export function otherRows(files: Map<string, Buffer>, manifest: Manifest, name: string, rows: string[]) {
  const bytes = Buffer.from(rows.map((row) => `${row}\n`).join(''));
  files.set(`tables/${name}.copy`, bytes);
  const table = manifest.tables.find((one) => one.name === name)!;
  table.rows = rows.length;
  table.bytes = bytes.length;
  table.sha256 = createHash('sha256').update(bytes).digest('hex');
}

async function filesOf(file: string): Promise<Map<string, Buffer>> {
  const zip = await promisify<string, yauzl.Options, yauzl.ZipFile>(yauzl.open)(file, { lazyEntries: true });
  const files = new Map<string, Buffer>();
  await new Promise<void>((resolve, reject) => {
    zip.on('entry', (entry: yauzl.Entry) => {
      zip.openReadStream(entry, async (error, stream) => {
        if (error) return reject(error);
        const chunks: Buffer[] = [];
        for await (const chunk of stream) chunks.push(chunk as Buffer);
        files.set(entry.fileName, Buffer.concat(chunks));
        zip.readEntry();
      });
    });
    zip.once('end', resolve);
    zip.once('error', reject);
    zip.readEntry();
  });
  return files;
}
