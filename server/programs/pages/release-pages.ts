import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { groupsOf } from '../../grading/group-by.ts';
import { recordingsOfProgram } from '../../narration/recording-store.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { typedText } from '../../text/typed-text.ts';
import { errorsOf, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { numberOf } from '../../web/whole-number.ts';
import { measureProgram } from '../meters.ts';
import {
  listEditions,
  namesOfProgram,
  readEdition,
  readNamed,
  releaseEdition,
} from '../stores/edition-store.ts';
import { readPlayFacts } from '../stores/play-facts.ts';
import { nameOf, readProgramNames } from '../stores/program-names.ts';
import { readProgram } from '../stores/program-rows.ts';
import { readShown } from '../stores/shown-store.ts';
import { metersView } from './meters-view.ts';
import { playLines, showingTone } from './program-view.ts';

const params = z.object({ programId: z.uuid() });
const noteSchema = z.object({ note: typedText({ most: 500 }), untoldBecause: typedText({ most: 500 }) });

/** What is looked at before a release, the release, and what was released. */
export async function releasePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };

  async function releasePage(
    request: FastifyRequest,
    programId: string,
    told: { note?: string; untoldBecause?: string; errors?: FormErrors; refused?: string } = {},
  ) {
    const { conferenceId } = sessionOf(request);
    const program = await readProgram(pool, conferenceId, programId);
    const names = await readProgramNames(database, conferenceId, program.seasonId);
    const measured = await measureProgram(database, conferenceId, program);
    const plays = playLines(
      program,
      measured,
      names,
      await recordingsOfProgram(pool, conferenceId, programId),
    );
    const editions = await listEditions(pool, conferenceId, programId);
    const shown = plays.filter(({ facts }) => facts !== undefined);
    return {
      program,
      number: (editions[0]?.number ?? 0) + 1,
      isCorrection: editions.length > 0,
      any: plays.length > 0,
      waiting: plays.filter(({ facts }) => facts?.openReply),
      gone: plays.filter(({ facts }) => facts === undefined),
      unfinished: groupsOf(
        plays.flatMap((play) => play.lacks.map((what) => ({ what, play }))),
        ({ what }) => what,
      ).map((own) => ({ what: own[0]!.what, plays: own.map(({ play }) => play) })),
      tooLong: plays.filter(({ over }) => over > 0),
      withoutFilm: shown.filter(({ facts }) => !facts!.film),
      named: namesOfProgram(program, await readNamed(pool, conferenceId, program.seasonId)),
      officials: groupsOf(shown, ({ official }) => official).map((own) => ({
        official: own[0]!.official,
        plays: own.map(({ place, showing, position }) => ({ place, showing, position })),
        isBad: own.some(({ showing }) => showing !== 'good'),
      })),
      untold: (await readShown(pool, conferenceId, programId)).filter(({ state }) => state === 'not told')
        .length,
      meters: metersView(measured, program, names),
      ...told,
    };
  }

  pages.get(
    '/training/programs/:programId/release',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const view = await releasePage(request, request.params.programId);
      return reply.page('programs/release', view, { title: `Release ${view.program.title}` });
    },
  );

  pages.post(
    '/training/programs/:programId/release',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { programId } = request.params;
      const form = formOf(request.body);
      const again = async (status: number, told: Parameters<typeof releasePage>[2]) => {
        const view = await releasePage(request, programId, {
          note: textOf(form.note),
          untoldBecause: textOf(form.untoldBecause),
          ...told,
        });
        return reply.code(status).page('programs/release', view, { title: `Release ${view.program.title}` });
      };
      const parsed = noteSchema.safeParse({
        note: textOf(form.note),
        untoldBecause: textOf(form.untoldBecause),
      });
      if (!parsed.success) return again(400, { errors: errorsOf(parsed.error) });
      const { conferenceId } = sessionOf(request);
      const untold = (await readShown(pool, conferenceId, programId)).some(
        ({ state }) => state === 'not told',
      );
      if (untold && parsed.data.untoldBecause === '')
        return again(409, {
          refused:
            'Not released yet: some who are shown were not told. Tell them first, or say below why they are not.',
        });
      try {
        const number = await releaseEdition(pool, sessionOf(request), programId, {
          version: Number(textOf(form.version)),
          ...parsed.data,
          namesMeant: textOf(form.namesMeant) === 'yes',
        });
        return reply.redirect(`/training/programs/${programId}/editions/${number}`, 303);
      } catch (error) {
        if (!(error instanceof Problem) || ![400, 409].includes(error.status)) throw error;
        if (error.status === 409) return again(409, { refused: error.message });
        const note = error.errors.find(({ field }) => field === 'note');
        const names = error.errors.length > (note ? 1 : 0);
        return again(400, {
          errors: note ? { note: note.message } : {},
          ...(names
            ? { refused: 'Not released yet: names stand in what everybody would read. Look at them below.' }
            : {}),
        });
      }
    },
  );

  pages.get(
    '/training/programs/:programId/editions/:number',
    { config, schema: { hide: true, params: params.extend({ number: numberOf('number') }) } },
    async (request, reply) => {
      const { conferenceId, timeZone } = sessionOf(request);
      const { programId, number } = request.params;
      const program = await readProgram(pool, conferenceId, programId);
      const edition = await readEdition(pool, conferenceId, programId, number);
      const names = await readProgramNames(database, conferenceId, program.seasonId);
      const without = edition.content.plays.flatMap(({ hasFilm: had, number: play }) => {
        const source = had ? undefined : edition.sources.find((one) => one.number === play);
        return had ? [] : [{ play, playId: source?.playId ?? '' }];
      });
      const facts = await readPlayFacts(
        pool,
        conferenceId,
        without.flatMap(({ playId }) => (playId === '' ? [] : [playId])),
      );
      const filmed = (playId: string) => facts.get(playId)?.filmHere === true;
      const view = {
        season: await seasonOf(database, conferenceId, program.seasonId),
        program,
        edition,
        timeZone,
        releasedBy: edition.releasedBy ? nameOf(names, edition.releasedBy) : 'the program',
        changedSince: program.changedAt > edition.releasedAt,
        newest: (await listEditions(pool, conferenceId, programId))[0]!.number,
        plays: edition.content.plays.map((play, at) => ({
          ...play,
          tone: showingTone[play.showing],
          source: edition.sources[at],
        })),
        withoutFilm: without.filter(({ playId }) => !filmed(playId)).map(({ play }) => play),
        filmedSince: without.filter(({ playId }) => filmed(playId)).map(({ play }) => play),
        files: `/api/training-programs/${programId}/editions/${number}`,
      };
      return reply.page('programs/edition', view, {
        title: `Edition ${number} of ${edition.content.title}`,
        width: 'wide',
      });
    },
  );
}
