import type { Readable } from 'node:stream';
import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { inTransaction } from '../database/transaction.ts';
import { playSchema } from '../football/play.ts';
import { withProblems } from '../reports/request-errors.ts';
import { typedText } from '../text/typed-text.ts';
import { notFound, Problem } from '../web/problem.ts';
import { bringLog, gameOfLog, inTheWay, type LogBrought, planLog } from './mapping/bring-log.ts';
import { samplesOf } from './mapping/foreign-file.ts';
import { type Mapping, mappingSchema } from './mapping/mapping.ts';
import { deleteMapping, fitting, keepMapping, keptMapping, keptMappings } from './mapping/mapping-store.ts';
import { whoIsRight } from './mapping/merge-logs.ts';
import { firstMapping, withLikelyTeams } from './mapping/propose.ts';
import { type ForeignTable, readForeign } from './mapping/read-foreign.ts';
import { fromFile } from './uploads.ts';

const tags = ['play logs from elsewhere'];
const contentTypes = [
  'text/csv',
  'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet',
] as const;
const largestLog = 20 * 1024 * 1024;

const name = typedText({ least: 1, most: 100 });
const keptSchema = z.object({
  id: z.uuid(),
  name: z.string(),
  columns: z.array(z.string()).readonly().describe('The columns of the file it was made for.'),
  mapping: mappingSchema,
});
const idSchema = z.object({ id: z.uuid() });
const ofMapping = z.object({ mappingId: z.uuid() });
const mappingBody = z.strictObject({
  name,
  columns: z.array(z.string().min(1).max(200)).max(300),
  mapping: mappingSchema,
});

const broughtSchema = z.object({
  applied: z.boolean(),
  columns: z
    .array(z.object({ column: z.string(), samples: z.array(z.string()) }))
    .describe('The columns of the file with a few of their texts.'),
  mapping: mappingSchema.describe('The mapping that the file was read by.'),
  mappingId: z
    .uuid()
    .nullable()
    .describe('The kept one it is; null: none fits, and headings alone were read.'),
  plays: z.array(z.object({ line: z.int(), play: playSchema })),
  skipped: z.int().describe('Rows that the mapping leaves out.'),
  undecided: z
    .array(
      z.object({
        line: z.int(),
        column: z.string(),
        value: z.string(),
        problem: z.string(),
        fix: z.string(),
      }),
    )
    .describe('Rows that are no plays yet, the first 200.'),
  moreUndecided: z.int(),
  inTheWay: z.string().nullable().describe('Why it cannot be brought in as it is.'),
  logged: z.int().describe('Plays that were logged before.'),
  added: z.int(),
  changed: z.int(),
  onlyInLog: z.int().describe('Plays that the file does not have; they stay.'),
  differing: z.int().describe('Plays of which log and file say something different.'),
  recounted: z.array(
    z.object({ reportId: z.string(), observer: z.string(), before: z.int(), after: z.int() }),
  ),
});

/** Play logs in whatever form, by API: kept mappings, and bringing a log to a game. */
export async function logRoutes(app: FastifyInstance): Promise<void> {
  app.addContentTypeParser([...contentTypes], (_request, payload, done) => done(null, payload));
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };

  routes.get(
    '/api/log-mappings',
    {
      config,
      schema: {
        tags,
        summary: 'How play logs from elsewhere are read: the kept mappings',
        response: { 200: z.array(keptSchema) },
      },
    },
    async (request) => keptMappings(pool, sessionOf(request).conferenceId),
  );

  routes.post(
    '/api/log-mappings',
    {
      config,
      schema: {
        tags,
        summary: 'Keep a mapping under a name; one of that name is replaced',
        body: mappingBody,
        response: { 200: idSchema },
      },
    },
    async (request) => ({
      id: await inTransaction(pool, (client) => keepMapping(client, sessionOf(request), request.body)),
    }),
  );

  routes.get(
    '/api/log-mappings/:mappingId',
    { config, schema: { tags, summary: 'One mapping', params: ofMapping, response: { 200: keptSchema } } },
    async (request) => keptMapping(pool, sessionOf(request).conferenceId, request.params.mappingId),
  );

  routes.put(
    '/api/log-mappings/:mappingId',
    {
      config,
      schema: {
        tags,
        summary: 'Change or rename a mapping',
        params: ofMapping,
        body: mappingBody,
        response: { 200: idSchema },
      },
    },
    async (request) => ({
      id: await inTransaction(pool, (client) =>
        keepMapping(client, sessionOf(request), { id: request.params.mappingId, ...request.body }),
      ),
    }),
  );

  routes.delete(
    '/api/log-mappings/:mappingId',
    {
      config,
      schema: {
        tags,
        summary: 'Forget a mapping; logs read by it stay as they are',
        params: ofMapping,
        response: { 200: z.object({ done: z.literal(true) }) },
      },
    },
    async (request) => {
      await inTransaction(pool, (client) =>
        deleteMapping(client, sessionOf(request), request.params.mappingId),
      );
      return { done: true as const };
    },
  );

  routes.post(
    '/api/games/:gameId/play-log',
    {
      config: { policy: policies.assignedGame, judgesBody: true },
      bodyLimit: largestLog,
      schema: {
        summary: 'Bring a play log in whatever form to a game, or only see what it would give',
        description:
          'The body is the file, as text/csv or as a workbook (XLSX). It is read by the kept mapping `mapping`, else by the kept one that fits its columns best, else only columns headed as in plays.csv are read. With `check=true` nothing is kept, and the answer gives columns, samples, plays and what is undecided: all that a mapping is made from. No play is ever removed, and marks stay on theirs. While rows are undecided, 422 names each by line, column and fix.',
        tags,
        consumes: [...contentTypes],
        params: z.object({ gameId: z.uuid() }),
        querystring: z.object({
          fileName: typedText({ most: 200 }).default('play log'),
          mapping: z.uuid().optional(),
          check: z.stringbool().default(false),
          right: z
            .enum(whoIsRight)
            .default('log')
            .describe('What counts where log and file say something different.'),
          reason: typedText({ most: 2000 })
            .default('')
            .describe('Needed once a report of the game is filed.'),
        }),
        response: { 200: broughtSchema },
      },
    },
    async (request) => {
      const { conferenceId, personId, roles } = sessionOf(request);
      const { gameId } = request.params;
      const { fileName, check, right, reason, mapping: asked } = request.query;
      const body = request.body as Readable | null | undefined;
      if (body === null || body === undefined || typeof body[Symbol.asyncIterator] !== 'function') {
        throw new Problem(
          415,
          'Neither a CSV file nor a workbook',
          'Send the file as the body, with the content type text/csv, or that of an XLSX workbook.',
        );
      }
      return fromFile(body, async (open) => {
        const table = await readForeign(open);
        const kept = await keptMappings(pool, conferenceId);
        const fits = fitting(kept, (headings) => table.with(headings).columns);
        const base = asked === undefined ? fits[0] : kept.find(({ id }) => id === asked);
        if (asked !== undefined && base === undefined) throw notFound('mapping');
        const file = table.with(base?.mapping.headings ?? 1);
        const teams = await gameOfLog(pool, conferenceId, gameId);
        const mapping = withLikelyTeams(file, base?.mapping ?? firstMapping(file), teams);
        const shown = { table, mapping, mappingId: base?.id ?? null };
        if (check) {
          const plan = await planLog(pool, conferenceId, gameId, { file, mapping, right });
          return answer(shown, { ...plan, recounted: [] }, false);
        }
        const acting = { conferenceId, personId, mayCorrectFiled: roles.has('coordinator') };
        const done = await withProblems(() =>
          inTransaction(pool, (client) =>
            bringLog(client, acting, {
              gameId,
              fileName,
              sha256: table.sha256,
              file,
              mapping,
              mappingName: base?.name ?? null,
              right,
              reason,
            }),
          ),
        );
        return answer(shown, done, true);
      });
    },
  );
}

function answer(
  { table, mapping, mappingId }: { table: ForeignTable; mapping: Mapping; mappingId: string | null },
  brought: LogBrought & {
    recounted: { reportId: string; observer: string; before: number; after: number }[];
  },
  applied: boolean,
) {
  const file = table.with(mapping.headings);
  return {
    applied,
    columns: file.columns.map((column) => ({ column, samples: samplesOf(file, column) })),
    mapping,
    mappingId,
    plays: brought.plays.map(({ line, play }) => ({ line, play })),
    skipped: brought.skipped,
    undecided: brought.undecided.slice(0, 200),
    moreUndecided: Math.max(0, brought.undecided.length - 200),
    inTheWay: inTheWay(brought) ?? null,
    logged: brought.logged,
    added: brought.added,
    changed: brought.changed,
    onlyInLog: brought.onlyInLog,
    differing: brought.differing,
    recounted: brought.recounted.map(({ reportId, observer, before, after }) => ({
      reportId,
      observer,
      before,
      after,
    })),
  };
}
