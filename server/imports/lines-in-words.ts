import type { ProblemGroup, WrongValue } from './csv/problems.ts';
import type { FoundFile } from './csv/table-records.ts';

/** `semicolons between the columns, text in UTF-8`, `sheet “Staff” of the workbook`: how a file was read. */
export function readInWords(found: FoundFile): string {
  if (found.form === 'workbook') {
    const { sheet, otherSheets } = found;
    const others =
      otherSheets.length === 0 ? '' : `; not read: ${otherSheets.map((name) => `“${name}”`).join(', ')}`;
    return `sheet “${sheet}” of the workbook${others}`;
  }
  const { separator, encoding, example } = found;
  const text = example === undefined ? encoding : `${encoding} (“${example}” should read right)`;
  return `${separator}s between the columns, text in ${text}`;
}

/** `3, 5 and 7 to 12`: numbers of lines, those in a row drawn together; at most `most` pieces. */
export function linesInWords(lines: readonly number[], most = Number.POSITIVE_INFINITY): string {
  const pieces: string[] = [];
  for (let at = 0; at < lines.length; ) {
    const first = lines[at] as number;
    let to = at;
    while (lines[to + 1] === (lines[to] as number) + 1) to += 1;
    const last = lines[to] as number;
    if (last - first >= 2) pieces.push(`${first} to ${last}`);
    else for (let line = first; line <= last; line += 1) pieces.push(String(line));
    at = to + 1;
  }
  if (pieces.length > most) return `${pieces.slice(0, most).join(', ')} and further lines`;
  if (pieces.length < 2) return pieces.join('');
  return `${pieces.slice(0, -1).join(', ')} and ${pieces.at(-1)}`;
}

/** The lines of several values together, in order. */
export const linesOf = (values: readonly WrongValue[]): number[] =>
  [...new Set(values.flatMap(({ lines }) => lines))].sort((a, b) => a - b);

/** `line 3`, `line 7, 2 times`, `lines 3 to 170, 168 times`; empty when the file as a whole is meant. */
export function whereInWords({ values, count }: ProblemGroup, most = Number.POSITIVE_INFINITY): string {
  const lines = linesOf(values);
  if (lines.length === 0) return '';
  const where = `${lines.length === 1 ? 'line' : 'lines'} ${linesInWords(lines, most)}`;
  return count === 1 ? where : `${where}, ${count} times`;
}
