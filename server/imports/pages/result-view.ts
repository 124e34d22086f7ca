import type { ImportOutcome } from '../import-outcome.ts';
import { linesInWords, linesOf, readInWords } from '../lines-in-words.ts';

/** What the result page says of one file. `number` is the file's place among those sent. */
export function resultView(outcome: ImportOutcome, number: number) {
  const problemCount = outcome.problems.length + outcome.moreProblems;
  const inGroups = outcome.problemGroups.reduce((sum, { count }) => sum + count, 0);
  const groups = outcome.problemGroups.map((group) => {
    const lines = linesOf(group.values);
    return {
      ...group,
      times: group.count,
      many: group.count > 1,
      line: group.count === 1 ? lines[0] : undefined,
      lines: linesInWords(lines),
      values: group.values
        .filter(({ value }) => value !== '')
        .map((each) => ({
          ...each,
          times: each.count,
          many: each.count > 1,
          lines: linesInWords(each.lines),
        })),
      severalValues: group.values.length > 1,
    };
  });
  return {
    ...outcome,
    wrong: problemCount > 0,
    problemCount,
    one: problemCount === 1,
    groups,
    ungrouped: problemCount - inGroups,
    questions: outcome.questions.map((question) => ({
      ...question,
      field: `${question.name}-${number}`,
      many: question.lines.length > 1,
      lines: linesInWords(question.lines, 12),
    })),
    notes: outcome.notes.map((note) => ({
      ...note,
      times: note.count,
      lines: linesInWords(note.lines),
      one: note.count === 1,
    })),
    read: readInWords(outcome.readAs),
    nothingNew: outcome.fits && outcome.added + outcome.changed === 0,
  };
}
