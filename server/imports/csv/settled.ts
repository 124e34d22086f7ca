import type { Column, FileFormat } from './format.ts';
import { foldedHeading, headingsOf } from './headings.ts';
import { type Answers, Votes } from './questions.ts';
import { tableRecords } from './table-records.ts';
import { UnreadableFile } from './unreadable.ts';

/** What the texts of a file together settle of the questions that its format has. */
export async function settledBy(open: () => AsyncIterable<Uint8Array>, format: FileFormat): Promise<Answers> {
  const voting = new Set(
    Object.entries(format.columns).flatMap(([name, column]) => (column.asking?.vote ? [name] : [])),
  );
  if (voting.size === 0) return {};
  const votes = new Votes();
  const known = headingsOf(format);
  let names: (string | undefined)[] | undefined;
  try {
    const records = tableRecords(open(), format, () => {});
    for await (const { cells } of records) {
      if (names === undefined && cells.some((cell) => cell.trim() !== '')) {
        names = cells.map((cell) => known.get(foldedHeading(cell)));
        continue;
      }
      for (const [at, name] of (names ?? []).entries()) {
        if (name === undefined || !voting.has(name)) continue;
        const { asking } = format.columns[name] as Column;
        if (asking !== undefined) votes.add(asking.question, asking.vote?.((cells[at] ?? '').trim()));
      }
    }
  } catch (error) {
    // It is told when the rows are read.
    if (!(error instanceof UnreadableFile)) throw error;
  }
  return votes.answers;
}
