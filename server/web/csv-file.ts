import type { FastifyReply } from 'fastify';
import { z } from 'zod';

/** What may be asked of a CSV file. */
export const csvChoice = {
  mark: z
    .stringbool()
    .default(false)
    .describe('Begin with a byte order mark, by which spreadsheets know UTF-8.'),
};

/** Sends a table as a file that is kept nowhere on the way: it tells of people. @param name without the ending */
export function sendCsv(reply: FastifyReply, name: string, text: string, { mark }: { mark: boolean }) {
  return reply
    .type('text/csv; charset=utf-8')
    .header('content-disposition', `attachment; filename="${name}.csv"`)
    .header('cache-control', 'no-store')
    .send(mark ? `\uFEFF${text}` : text);
}
