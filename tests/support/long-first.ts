import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** A whole file's tag; null without one. */
const tagOf = (file: string) => /^\/\/ @module-tag (\w+)/.exec(readFileSync(file, 'utf8'))?.[1] ?? null;
const isLong = (file: string) => tagOf(file) !== null;

/**
 * Files of a folder with nothing to run under vitest's filter of tags: what they import need not be loaded only to skip
 * them. A filter that is one tag's name wants files that are tagged with it as a whole.
 */
export function leftOutBy(filter: string | undefined, folder: string): string[] {
  const unwanted = [...(filter ?? '').matchAll(/!(\w+)/g)].map(([, tag]) => tag);
  const wanted = /^\w+$/.exec(filter ?? '')?.[0];
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .map((file) => path.join(folder, file))
    .filter((file) => {
      if (!file.endsWith('.test.ts')) return false;
      const tag = tagOf(file);
      return (tag !== null && unwanted.includes(tag)) || (wanted !== undefined && tag !== wanted);
    });
}

/** Begins each project with its files tagged `long`, so that the last worker does not go on alone for half a minute. */
export class LongFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const sorted = await super.sort(files);
    const rank = new Map<TestSpecification, string>();
    for (const file of sorted) rank.set(file, `${file.project.name} ${isLong(file.moduleId) ? 0 : 1}`);
    return sorted.sort((a, b) => (rank.get(a)! < rank.get(b)! ? -1 : rank.get(a)! > rank.get(b)! ? 1 : 0));
  }
}
