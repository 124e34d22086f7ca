import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

const isLong = (file: string) => readFileSync(file, 'utf8').startsWith('// @module-tag long');

/** Files of a folder that are tagged `long` as a whole: what they import need not be loaded only to skip them. */
export const longFiles = (folder: string): string[] =>
  readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .map((file) => path.join(folder, file))
    .filter((file) => file.endsWith('.test.ts') && isLong(file));

/** Begins each project with its files tagged `long`, so that the last worker does not go on alone for half a minute. */
export class LongFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const sorted = await super.sort(files);
    const rank = new Map<TestSpecification, string>();
    for (const file of sorted) rank.set(file, `${file.project.name} ${isLong(file.moduleId) ? 0 : 1}`);
    return sorted.sort((a, b) => (rank.get(a)! < rank.get(b)! ? -1 : rank.get(a)! > rank.get(b)! ? 1 : 0));
  }
}
