import type pg from 'pg';
import type { Acting } from '../accounts/acting.ts';
import { fileKinds } from './files/index.ts';
import { checkFiles, type FileToImport, importFile } from './import-file.ts';
import type { ImportOutcome } from './import-outcome.ts';

interface ImportedFiles {
  outcomes: ImportOutcome[];
  /** Names of files that were not read, because one before them, which they may refer to, was not imported. */
  notRead: string[];
}

interface HowToImport {
  /** Only tell what importing would do. */
  check?: boolean;
  tell?: (outcome: ImportOutcome) => void;
}

/** In the order in which one file may refer to another. */
export const inOrder = (files: readonly FileToImport[]): FileToImport[] =>
  [...files].sort(
    (a, b) => fileKinds.indexOf(a.kind) - fileKinds.indexOf(b.kind) || (a.fileName < b.fileName ? -1 : 1),
  );

/** Imports several files, each all or nothing, in the order in which one may refer to another; stops at the first with a problem. */
export async function importFiles(
  pool: pg.Pool,
  by: Acting,
  files: readonly FileToImport[],
  { check = false, tell = () => {} }: HowToImport = {},
): Promise<ImportedFiles> {
  const ordered = inOrder(files);
  const outcomes: ImportOutcome[] = [];
  if (check) {
    outcomes.push(...(await checkFiles(pool, by, ordered)));
    outcomes.forEach(tell);
  } else {
    for (const file of ordered) {
      const outcome = await importFile(pool, by, file);
      outcomes.push(outcome);
      tell(outcome);
      if (!outcome.applied) break;
    }
  }
  return { outcomes, notRead: ordered.slice(outcomes.length).map(({ fileName }) => fileName) };
}
