import type pg from 'pg';
import type { Acting } from '../accounts/acting.ts';
import type { FileKind } from './files/file-kind.ts';
import { fileKinds } from './files/index.ts';
import { importFile } from './import-file.ts';
import type { ImportOutcome } from './import-outcome.ts';

export interface FileToImport {
  fileName: string;
  kind: FileKind;
  open(): AsyncIterable<Uint8Array>;
}

export interface ImportedFiles {
  outcomes: ImportOutcome[];
  /** Names of files that were not read, because one before them, which they may refer to, was not imported. */
  notRead: string[];
}

/** Imports several files in the order in which one may refer to another, each all or nothing; stops at the first with a problem. */
export async function importFiles(
  pool: pg.Pool,
  by: Acting,
  files: readonly FileToImport[],
  tell: (outcome: ImportOutcome) => void = () => {},
): Promise<ImportedFiles> {
  const inOrder = [...files].sort(
    (a, b) => fileKinds.indexOf(a.kind) - fileKinds.indexOf(b.kind) || (a.fileName < b.fileName ? -1 : 1),
  );
  const outcomes: ImportOutcome[] = [];
  for (const [at, { kind, fileName, open }] of inOrder.entries()) {
    const outcome = await importFile(pool, by, kind, fileName, open());
    outcomes.push(outcome);
    tell(outcome);
    if (!outcome.applied) return { outcomes, notRead: inOrder.slice(at + 1).map((file) => file.fileName) };
  }
  return { outcomes, notRead: [] };
}
