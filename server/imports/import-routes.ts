import { createReadStream, createWriteStream } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import type { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import multipart from '@fastify/multipart';
import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { Problem } from '../web/problem.ts';
import type { Column } from './csv/format.ts';
import { writeCsv } from './csv/write-csv.ts';
import type { FileKind } from './files/file-kind.ts';
import { fileKindNamed, fileKindOfFileName, fileKinds } from './files/index.ts';
import { importFile } from './import-file.ts';
import { type FileToImport, importFiles } from './import-files.ts';
import type { ImportOutcome } from './import-outcome.ts';
import { linesInWords, linesOf, readInWords } from './in-words.ts';
import { recentImports } from './recent-imports.ts';

/** A play log of 100,000 rows has about 25 MB. */
const largestFile = 200 * 1024 * 1024;
const mostFiles = 50;

const kindNames = fileKinds.map((kind) => kind.format.name) as [string, ...string[]];

const outcomeSchema = z.object({
  kind: z.string(),
  fileName: z.string(),
  applied: z.boolean().describe('Whether the file is in the database now: all of it or none.'),
  readAs: z
    .object({
      encoding: z.enum(['UTF-8', 'Windows-1252', 'UTF-16 LE', 'UTF-16 BE']),
      byteOrderMark: z.boolean(),
      separator: z.enum(['comma', 'semicolon', 'tab']),
      example: z
        .string()
        .optional()
        .describe('A word that reads right only if the encoding was guessed right.'),
    })
    .describe('How the file was read; found out from the file.'),
  notes: z
    .array(z.object({ text: z.string(), lines: z.array(z.number().int()), count: z.number().int() }))
    .describe('What is no error, but good to know: columns that were skipped, lines that repeat another.'),
  rows: z.number().int().describe('Lines read without a problem of their own.'),
  added: z.number().int(),
  changed: z.number().int(),
  unchanged: z.number().int(),
  problems: z
    .array(
      z.object({
        line: z.number().int().describe('Counted from 1; 0 means the whole file.'),
        column: z.string(),
        value: z.string(),
        problem: z.string(),
        fix: z.string(),
      }),
    )
    .describe('At most 200, in the order of lines.'),
  moreProblems: z.number().int(),
  problemGroups: z
    .array(
      z.object({
        column: z.string(),
        problem: z.string(),
        fix: z.string(),
        count: z.number().int(),
        values: z
          .array(z.object({ value: z.string(), count: z.number().int(), lines: z.array(z.number().int()) }))
          .describe('The first 20 different values, each with its first 1000 lines.'),
        otherValues: z.number().int().describe('Lines with yet other values.'),
      }),
    )
    .describe('The same problems by what is wrong; at most 200 groups, in the order of their first lines.'),
  playLogsChanged: z.array(z.string()).describe('Ids of games whose play log is another now.'),
  recounted: z.array(
    z.object({
      game: z.string(),
      observer: z.string(),
      before: z.number().int(),
      after: z.number().int(),
    }),
  ),
});

const problemSchema = z.object({
  type: z.string(),
  title: z.string(),
  status: z.number().int(),
  detail: z.string(),
  outcome: outcomeSchema,
});

/** Import of CSV files by page and by API, for the coordinator. */
export async function importRoutes(app: FastifyInstance): Promise<void> {
  await app.register(multipart, { limits: { fileSize: largestFile, files: mostFiles, fields: 10 } });
  // The body of an API upload is read as it comes, not collected.
  app.addContentTypeParser('text/csv', (_request, payload, done) => done(null, payload));
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const hidden = { config: { policy: policies.coordinator }, schema: { hide: true } };
  const byWhom = (request: FastifyRequest) => {
    const { conferenceId, personId } = sessionOf(request);
    return { conferenceId, personId };
  };

  routes.get('/import', hidden, async (request, reply) => {
    const recent = await recentImports(pool, sessionOf(request).conferenceId);
    return reply.page(
      'imports/import',
      { kinds: fileKinds.map(describe), recent },
      { title: 'Import', width: 'wide' },
    );
  });

  routes.get(
    '/import/:name',
    { ...hidden, schema: { hide: true, params: z.object({ name: z.string() }) } },
    async (request, reply) => {
      const kind = fileKindNamed(request.params.name.replace(/\.csv$/, ''));
      if (kind === undefined) throw new Problem(404, 'Not found', 'There is no such kind of file.');
      return reply
        .type('text/csv; charset=utf-8')
        .header('content-disposition', `attachment; filename="${kind.format.name}.csv"`)
        .send(headingsOnly(kind));
    },
  );

  routes.post('/import', hidden, async (request, reply) => {
    const folder = await mkdtemp(path.join(os.tmpdir(), 'crewmark-import-'));
    try {
      const { files, unknown } = await receive(request, folder);
      const { outcomes, notRead } = await importFiles(pool, byWhom(request), files);
      const failed =
        outcomes.some((outcome) => !outcome.applied) || unknown.length > 0 || outcomes.length === 0;
      return reply.code(failed ? 422 : 200).page(
        'imports/import-result',
        {
          outcomes: outcomes.map(forPage),
          notRead,
          unknown,
          nothing: files.length + unknown.length === 0,
          failed,
        },
        { title: 'Import result', width: 'wide' },
      );
    } finally {
      await rm(folder, { recursive: true, force: true });
    }
  });

  routes.post(
    '/api/imports/:kind',
    {
      config: { policy: policies.coordinator },
      bodyLimit: largestFile,
      schema: {
        summary: 'Import one CSV file, all of it or nothing',
        description:
          'The body is the file, as text/csv (RFC 4180). Separator (comma, semicolon, tab) and encoding (UTF-8, Windows-1252, UTF-16) are found out and told in `readAs`. Sending a file again changes nothing; a changed line updates. When anything is wrong, nothing is imported and 422 lists every problem with line, column, value and fix.',
        tags: ['import'],
        consumes: ['text/csv'],
        params: z.object({ kind: z.enum(kindNames) }),
        querystring: z.object({ fileName: z.string().max(200).optional() }),
        response: { 200: outcomeSchema, 422: problemSchema },
      },
    },
    async (request, reply) => {
      const kind = fileKindNamed(request.params.kind)!;
      const body = request.body as Readable | null | undefined;
      if (body === null || body === undefined || typeof body[Symbol.asyncIterator] !== 'function') {
        throw new Problem(
          415,
          'Not a CSV file',
          'Send the file as the body, with the content type text/csv.',
        );
      }
      const fileName = request.query.fileName ?? `${kind.format.name}.csv`;
      const outcome = await kept(limited(body), (file) =>
        importFile(pool, byWhom(request), kind, fileName, file),
      );
      if (outcome.applied) return outcome;
      const count = outcome.problems.length + outcome.moreProblems;
      return reply
        .code(422)
        .type('application/problem+json')
        .send({
          type: 'about:blank',
          title: 'Nothing was imported',
          status: 422,
          detail: `${fileName} has ${count} ${count === 1 ? 'problem' : 'problems'}.`,
          outcome,
        });
    },
  );
}

/**
 * Puts an upload into a temporary file and hands that on: an import waits for no network, so that a slow upload does
 * not keep other imports waiting.
 */
async function kept<Result>(
  upload: AsyncIterable<Uint8Array>,
  use: (file: AsyncIterable<Uint8Array>) => Promise<Result>,
): Promise<Result> {
  const folder = await mkdtemp(path.join(os.tmpdir(), 'crewmark-import-'));
  try {
    const file = path.join(folder, 'upload.csv');
    await pipeline(upload, createWriteStream(file));
    return await use(createReadStream(file));
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

/** Passes an upload on up to the largest size. */
async function* limited(source: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  let bytes = 0;
  for await (const chunk of source) {
    bytes += chunk.length;
    if (bytes > largestFile) throw tooLarge('The file');
    yield chunk;
  }
}

const tooLarge = (what: string) =>
  new Problem(413, 'Too large', `${what} is larger than ${largestFile / 1024 / 1024} MB; split it by weeks.`);

/** Puts the uploaded files into a folder: only then can they be imported in their order. */
async function receive(
  request: FastifyRequest,
  folder: string,
): Promise<{ files: FileToImport[]; unknown: string[] }> {
  const files: FileToImport[] = [];
  const unknown: string[] = [];
  let chosen: FileKind | undefined;
  for await (const part of request.parts()) {
    if (part.type === 'field') {
      if (part.fieldname === 'kind' && typeof part.value === 'string') chosen = fileKindNamed(part.value);
      continue;
    }
    const fileName = path.basename(part.filename ?? '');
    if (fileName === '') {
      part.file.resume();
      continue;
    }
    const kind = chosen ?? fileKindOfFileName(fileName);
    if (kind === undefined) {
      unknown.push(fileName);
      part.file.resume();
      continue;
    }
    const file = path.join(folder, String(files.length));
    await pipeline(part.file, createWriteStream(file));
    if (part.file.truncated) throw tooLarge(fileName);
    files.push({ fileName, kind, open: () => createReadStream(file) });
  }
  return { files, unknown };
}

function headingsOnly({ format }: FileKind): string {
  const everyColumn = Object.fromEntries(Object.keys(format.columns).map((name) => [name, '-']));
  return writeCsv(format, [everyColumn]).split('\r\n', 1)[0]!.concat('\r\n');
}

function describe({ format }: FileKind) {
  const columns = Object.values<Column>(format.columns);
  return {
    name: format.name,
    purpose: format.purpose,
    needed: columns.filter((column) => !column.mayBeEmpty),
    optional: columns.filter((column) => column.mayBeEmpty),
  };
}

function forPage(outcome: ImportOutcome) {
  const problemCount = outcome.problems.length + outcome.moreProblems;
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
  const inGroups = outcome.problemGroups.reduce((sum, { count }) => sum + count, 0);
  return {
    ...outcome,
    problemCount,
    one: problemCount === 1,
    groups,
    ungrouped: problemCount - inGroups,
    notes: outcome.notes.map((note) => ({
      ...note,
      times: note.count,
      lines: linesInWords(note.lines),
      one: note.count === 1,
    })),
    read: readInWords(outcome.readAs),
    nothingNew: outcome.applied && outcome.added + outcome.changed === 0,
  };
}
