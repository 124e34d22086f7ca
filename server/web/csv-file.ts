import { stringify } from 'csv-stringify/sync';
import type { FastifyReply } from 'fastify';
import { z } from 'zod';

/** What may be asked of a CSV file. */
export const csvChoice = {
  mark: z
    .stringbool()
    .default(false)
    .describe('Begin with a byte order mark, by which spreadsheets know UTF-8.'),
};

/** A table as RFC 4180 has it. A cell that a spreadsheet would take for a formula is disarmed: people typed some of them. */
export const tableCsv = (
  columns: readonly string[],
  rows: readonly (readonly (string | number)[])[],
): string => stringify([columns, ...rows], { record_delimiter: 'windows', escape_formulas: true });

/** Sends a table as a file that is kept nowhere on the way: it tells of people. @param name without the ending */
export function sendCsv(reply: FastifyReply, name: string, text: string, { mark }: { mark: boolean }) {
  return reply
    .type('text/csv; charset=utf-8')
    .header('content-disposition', `attachment; filename="${name}.csv"`)
    .header('cache-control', 'no-store')
    .send(mark ? `\uFEFF${text}` : text);
}
