import multipart from '@fastify/multipart';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { countLogged } from '../../games/play-log.ts';
import { unfiledReportOf } from '../../reports/entry/own-report.ts';
import { recountedView } from '../../reports/pages/recounted.ts';
import { readGameTitle } from '../../reports/plays/play-list.ts';
import { asProblem } from '../../reports/request-errors.ts';
import { hasFiledReport } from '../../reports/review/corrections.ts';
import { typedText } from '../../text/typed-text.ts';
import { type Form, formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { plays } from '../files/plays.ts';
import { forgetUpload, keepUpload, keptUpload } from '../kept-uploads.ts';
import { readInWords } from '../lines-in-words.ts';
import { bringLog, gameOfLog, inTheWay, planLog } from '../mapping/bring-log.ts';
import { type Mapping, mappingSchema } from '../mapping/mapping.ts';
import { headingsFrom, mappingFromForm } from '../mapping/mapping-form.ts';
import { fitting, type KeptMapping, keepMapping, keptMappings } from '../mapping/mapping-store.ts';
import { mappingView } from '../mapping/mapping-view.ts';
import type { WhoIsRight } from '../mapping/merge-logs.ts';
import { firstMapping, withLikelyTeams } from '../mapping/propose.ts';
import { type ForeignTable, readForeign } from '../mapping/read-foreign.ts';
import { inFolder, receive } from '../uploads.ts';
import { planView } from './log-plan-view.ts';

/** A log of one game, or of a season's games, as a spreadsheet. */
const largestLog = 20 * 1024 * 1024;

const ofGame = z.object({ gameId: z.uuid() });
const ofUpload = ofGame.extend({ uploadId: z.uuid() });
const mappingName = typedText({ most: 100, tooLong: 'Write at most 100 characters.' });

/** Bringing a play log from elsewhere to a game: the file, what its columns hold, what comes of it, and then doing it. */
export async function logPages(app: FastifyInstance): Promise<void> {
  await app.register(multipart, { limits: { fileSize: largestLog, files: 1, fields: 10 } });
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.assignedGame };
  const byWhom = (request: FastifyRequest) => {
    const { conferenceId, personId, roles } = sessionOf(request);
    return { conferenceId, personId, mayCorrectFiled: roles.has('coordinator') };
  };

  async function choosePage(reply: FastifyReply, gameId: string, wrong?: string) {
    const { conferenceId, roles } = sessionOf(reply.request);
    const game = await readGameTitle(pool, conferenceId, gameId);
    const kept = await keptMappings(pool, conferenceId);
    const coordinator = roles.has('coordinator');
    const closed = !coordinator && (await hasFiledReport(pool, conferenceId, gameId));
    const view = {
      game,
      kept: kept.map(({ name }) => name),
      wrong,
      logged: await countLogged(app.database, conferenceId, gameId),
      coordinator,
      closed,
    };
    return reply.page('imports/log-file', view, { title: 'Bring a play log' });
  }

  pages.get(
    '/games/:gameId/log',
    { config, schema: { hide: true, params: ofGame } },
    async (request, reply) => choosePage(reply, request.params.gameId),
  );

  pages.post(
    '/games/:gameId/log',
    { config, schema: { hide: true, params: ofGame } },
    async (request, reply) =>
      inFolder(async (folder) => {
        const { gameId } = request.params;
        const { files } = await receive(request, folder, plays);
        const [file] = files;
        if (file === undefined) return choosePage(reply.code(422), gameId, 'Choose a file with the plays.');
        try {
          await readForeign(file.open);
        } catch (error) {
          if (!(error instanceof Problem)) throw error;
          return choosePage(reply.code(422), gameId, error.message);
        }
        const uploadId = await keepUpload(pool, byWhom(request), [file]);
        return reply.redirect(`/games/${gameId}/log/${uploadId}`, 303);
      }),
  );

  /** The file that was sent, and the kept mappings that fit it; undefined when it is not kept any more. */
  async function sent(request: FastifyRequest, uploadId: string) {
    const by = byWhom(request);
    const files = await keptUpload(pool, by, uploadId);
    if (files?.[0] === undefined) return undefined;
    const table = await readForeign(files[0].open);
    const kept = await keptMappings(pool, by.conferenceId);
    const fits = fitting(kept, (headings) => table.with(headings).columns);
    return { fileName: files[0].fileName, table, fits };
  }

  const gonePage = (reply: FastifyReply, gameId: string) =>
    choosePage(
      reply.code(404),
      gameId,
      'That file is kept for two hours only, and not once it is brought in. Choose it again.',
    );

  interface Shown {
    gameId: string;
    uploadId: string;
    fileName: string;
    table: ForeignTable;
    fits: readonly KeptMapping[];
    mapping: Mapping;
    base: KeptMapping | undefined;
    form?: Form;
    errors?: Record<string, string>;
  }

  async function mappingPage(reply: FastifyReply, shown: Shown) {
    const { gameId, uploadId, fileName, table, fits, mapping, base, form, errors = {} } = shown;
    const { conferenceId, roles } = sessionOf(reply.request);
    const game = await readGameTitle(pool, conferenceId, gameId);
    const teams = await gameOfLog(pool, conferenceId, gameId);
    const file = table.with(mapping.headings);
    const right = rightFrom(form);
    const plan = await planLog(pool, conferenceId, gameId, { file, mapping, right });
    const filed = await hasFiledReport(pool, conferenceId, gameId);
    const view = {
      game,
      uploadId,
      fileName,
      readAs: readInWords(table.readAs),
      rows: file.rows.length,
      base: base?.id,
      baseName: base?.name,
      others: fits.filter(({ id }) => id !== base?.id).map(({ id, name }) => ({ id, name })),
      ...mappingView(file, mapping, teams),
      headingsLine: mapping.headings,
      plan: planView(plan, teams, right),
      wrong: inTheWay(plan),
      filed,
      mayCorrectFiled: roles.has('coordinator'),
      reason: textOf(form?.reason),
      name: form ? textOf(form.name) : (base?.name ?? ''),
      errors,
    };
    return reply.page('imports/log-mapping', view, {
      title: 'What the columns hold',
      width: 'wide',
      scripts: ['log-mapping'],
    });
  }

  pages.get(
    '/games/:gameId/log/:uploadId',
    {
      config,
      schema: {
        hide: true,
        params: ofUpload,
        querystring: z.object({ mapping: z.union([z.uuid(), z.literal('new')]).optional() }),
      },
    },
    async (request, reply) => {
      const { gameId, uploadId } = request.params;
      const file = await sent(request, uploadId);
      if (!file) return gonePage(reply, gameId);
      const asked = request.query.mapping;
      const base = asked === undefined ? file.fits[0] : file.fits.find(({ id }) => id === asked);
      const { conferenceId } = sessionOf(request);
      const teams = await gameOfLog(pool, conferenceId, gameId);
      const table = file.table.with(base?.mapping.headings ?? 1);
      const mapping = withLikelyTeams(table, base?.mapping ?? firstMapping(table), teams);
      return mappingPage(reply, { gameId, uploadId, ...file, mapping, base });
    },
  );

  pages.post(
    '/games/:gameId/log/:uploadId',
    { config, schema: { hide: true, params: ofUpload } },
    async (request, reply) => {
      const { gameId, uploadId } = request.params;
      const acting = byWhom(request);
      const file = await sent(request, uploadId);
      if (!file) return gonePage(reply, gameId);
      const form = formOf(request.body);
      const base = file.fits.find(({ id }) => id === textOf(form.base));
      const headings = headingsFrom(form);
      const table = file.table.with(headings);
      const teams = await gameOfLog(pool, acting.conferenceId, gameId);
      // Columns are sent by their place: with other headings they are other columns.
      const moved = headings !== Number(textOf(form.headingsWere) || '1');
      const mapping = moved
        ? mappingSchema.parse({ ...firstMapping(table), headings })
        : withLikelyTeams(table, mappingFromForm(form, table, base?.mapping), teams);
      const shown = { gameId, uploadId, ...file, mapping, base, form };
      if (textOf(form.act) !== 'bring') return mappingPage(reply, shown);

      const name = mappingName.safeParse(textOf(form.name));
      if (!name.success) {
        return mappingPage(reply.code(422), { ...shown, errors: { name: name.error.issues[0]!.message } });
      }
      try {
        const done = await inTransaction(pool, async (client) => {
          const brought = await bringLog(client, acting, {
            gameId,
            fileName: file.fileName,
            sha256: file.table.sha256,
            file: table,
            mapping,
            mappingName: name.data || null,
            right: rightFrom(form),
            reason: textOf(form.reason),
          });
          if (name.data !== '') {
            await keepMapping(client, acting, { name: name.data, columns: table.columns, mapping });
          }
          return brought;
        });
        await forgetUpload(pool, acting, uploadId);
        const view = {
          ...(await recountedView(
            pool,
            acting.conferenceId,
            gameId,
            'The play log is brought in',
            done.recounted,
          )),
          added: done.added,
          changed: done.changed,
          unchanged: done.plays.length - done.added - done.changed,
          onlyInLog: done.onlyInLog,
          skipped: done.skipped,
          keptAs: name.data,
          reportId: await unfiledReportOf(app.database, acting, gameId),
          coordinator: acting.mayCorrectFiled,
        };
        return reply.page('imports/log-brought', view, { title: 'Play log brought in' });
      } catch (error) {
        const problem = asProblem(error);
        if (!(problem instanceof Problem) || problem.status === 404) throw problem;
        const named = Object.fromEntries(problem.errors.map(({ field, message }) => [field, message]));
        const errors = { ...named, all: named.reason ?? problem.message };
        return mappingPage(reply.code(problem.status === 422 ? 422 : 409), { ...shown, errors });
      }
    },
  );
}

const rightFrom = (form: Form | undefined): WhoIsRight => (textOf(form?.right) === 'file' ? 'file' : 'log');
