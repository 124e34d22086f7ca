import { readFile } from 'node:fs/promises';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** Begins each project with its files tagged `long`, so that the last worker does not go on alone for half a minute. */
export class LongFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const sorted = await super.sort(files);
    const rank = new Map<TestSpecification, string>();
    for (const file of sorted) {
      const long = (await readFile(file.moduleId, 'utf8')).startsWith('// @module-tag long');
      rank.set(file, `${file.project.name} ${long ? 0 : 1}`);
    }
    return sorted.sort((a, b) => (rank.get(a)! < rank.get(b)! ? -1 : rank.get(a)! > rank.get(b)! ? 1 : 0));
  }
}
