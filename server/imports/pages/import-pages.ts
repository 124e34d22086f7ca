import multipart from '@fastify/multipart';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { readSeasons } from '../../schedule/schedule-store.ts';
import { csvChoice, sendCsv } from '../../web/csv-file.ts';
import { type Form, formOf, textOf } from '../../web/form.ts';
import { notFound } from '../../web/problem.ts';
import type { Column } from '../csv/format.ts';
import { type Answer, type Answers, questionNames, questions } from '../csv/questions.ts';
import { writeCsv } from '../csv/write-csv.ts';
import type { FileKind } from '../files/file-kind.ts';
import { fileKindNamed, fileKinds } from '../files/index.ts';
import type { FileToImport } from '../import-file.ts';
import { importFiles, inOrder } from '../import-files.ts';
import { forgetUpload, keepUpload, keptUpload } from '../kept-uploads.ts';
import { recentImports } from '../recent-imports.ts';
import { inFolder, largestFile, mostFiles, receive } from '../uploads.ts';
import { resultView } from './result-view.ts';

interface Sent {
  /** In the order in which they are read. */
  files: FileToImport[];
  unknown: string[];
  check: boolean;
  /** The upload that the files are kept in already. */
  upload?: string;
}

/** Import of files by page, for the coordinator. */
export async function importPages(app: FastifyInstance): Promise<void> {
  await app.register(multipart, { limits: { fileSize: largestFile, files: mostFiles, fields: 10 } });
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const hidden = { config: { policy: policies.coordinator }, schema: { hide: true } };
  const byWhom = (request: FastifyRequest) => {
    const { conferenceId, personId } = sessionOf(request);
    return { conferenceId, personId };
  };

  routes.get('/import', hidden, async (request, reply) => {
    const { conferenceId, timeZone } = sessionOf(request);
    const recent = await recentImports(pool, conferenceId);
    const seasons = await readSeasons(app.database, conferenceId);
    return reply.page(
      'imports/import',
      { kinds: fileKinds.map(describe), recent, seasons, timeZone },
      { title: 'Import', width: 'wide' },
    );
  });

  routes.get(
    '/import/:name',
    {
      ...hidden,
      schema: { hide: true, params: z.object({ name: z.string() }), querystring: z.object(csvChoice) },
    },
    async (request, reply) => {
      const kind = fileKindNamed(request.params.name.replace(/\.csv$/, ''));
      if (kind === undefined) throw notFound('kind of file');
      return sendCsv(reply, kind.format.name, headingsOnly(kind), request.query);
    },
  );

  routes.post('/import', hidden, async (request, reply) =>
    inFolder(async (folder) => {
      const { files, unknown, fields } = await receive(request, folder);
      return show(request, reply, { files: inOrder(files), unknown, check: fields.act === 'check' });
    }),
  );

  /** Files that were checked or asked about: imported, or checked again, with what was answered. */
  routes.post(
    '/import/uploads/:uploadId',
    { ...hidden, schema: { hide: true, params: z.object({ uploadId: z.uuid() }) } },
    async (request, reply) => {
      const { uploadId } = request.params;
      const kept = await keptUpload(pool, byWhom(request), uploadId);
      if (kept === undefined)
        return reply
          .code(404)
          .page(
            'imports/import-result',
            { gone: true, failed: true },
            { title: 'Import result', width: 'wide' },
          );
      const form = formOf(request.body);
      const files = kept.map((file, number) => ({ ...file, answers: answersIn(form, number) }));
      const check = textOf(form.act) === 'check';
      return show(request, reply, { files, unknown: [], check, upload: uploadId });
    },
  );

  async function show(request: FastifyRequest, reply: FastifyReply, { files, unknown, check, upload }: Sent) {
    const by = byWhom(request);
    const { outcomes, notRead } = await importFiles(pool, by, files, { check });
    const done = outcomes.filter((outcome) => outcome.applied).length;
    const asked = outcomes.some((outcome) => outcome.questions.length > 0);
    const wrong = outcomes.some((outcome) => outcome.problems.length > 0);
    const mayImport = check && !wrong && !asked && outcomes.length > 0;
    // What was asked or checked can go on from here; what is wrong has to be put right in the file first.
    const goesOn = (asked || mayImport) && !wrong;
    const kept = goesOn ? (upload ?? (await keepUpload(pool, by, files))) : undefined;
    if (upload !== undefined && !goesOn) await forgetUpload(pool, by, upload);
    const failed =
      (!check && done < outcomes.length) || wrong || asked || unknown.length > 0 || outcomes.length === 0;
    const answered = files.flatMap(({ answers = {} }, number) =>
      Object.entries(answers).map(([name, answer]) => ({ field: `${name}-${number}`, answer })),
    );
    return reply.code(failed ? 422 : 200).page(
      'imports/import-result',
      {
        outcomes: outcomes.map(resultView),
        notRead,
        unknown,
        nothing: files.length + unknown.length === 0,
        check,
        asked,
        mayImport,
        kept,
        answered,
        failed: failed && !goesOn,
      },
      { title: check ? 'Check of the files' : 'Import result', width: 'wide' },
    );
  }
}

/** What the form answers about the file of this number. */
function answersIn(form: Form, number: number): Answers {
  const answers: Partial<Record<string, Answer>> = {};
  for (const name of questionNames) {
    const answer = textOf(form[`${name}-${number}`]);
    if (answer in questions[name].answers) answers[name] = answer as Answer;
  }
  return answers as Answers;
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
