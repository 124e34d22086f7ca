import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { playInWords } from '../../football/play-in-words.ts';
import { positions } from '../../football/positions.ts';
import { showings } from '../../training/lesson.ts';
import { reasonKinds } from '../../training/reasons.ts';
import { formOf, textOf } from '../../web/form.ts';
import { capital } from '../../web/format.ts';
import { addressWith, pagingOf } from '../../web/paging.ts';
import { notFound } from '../../web/problem.ts';
import { wholeNumber } from '../../web/whole-number.ts';
import { type Candidate, readCandidates } from '../candidates.ts';
import { filmOfPlay, hasFilm } from '../film-of-play.ts';
import { firstCard } from '../first-card.ts';
import { measureProgram } from '../meters.ts';
import { addPlays, removePlay } from '../stores/play-store.ts';
import { nameOf, readProgramNames } from '../stores/program-names.ts';
import { readProgram } from '../stores/program-rows.ts';
import { metersView } from './meters-view.ts';
import { showingTone } from './program-view.ts';

const pageSize = 40;
const params = z.object({ programId: z.uuid() });
const some = <T extends string>(values: readonly [T, ...T[]]) => z.enum(['', ...values]).catch('' as never);
/** What is asked of the candidates; what nobody can ask for asks for nothing. */
const filter = z.object({
  duty: z.string().max(100).catch('').default(''),
  showing: some(showings).default(''),
  position: some(positions).default(''),
  reason: some(reasonKinds).default(''),
  week: z.string().max(3).catch('').default(''),
  film: some(['yes']).default(''),
  page: wholeNumber('page', 1, 10_000).catch(1).default(1),
});
type Filter = z.output<typeof filter>;

const fits = (asked: Filter) => (one: Candidate) =>
  (asked.duty === '' || one.dutyKey === asked.duty) &&
  (asked.showing === '' || one.showing === asked.showing) &&
  (asked.position === '' || one.position === asked.position) &&
  (asked.week === '' || String(one.facts.week) === asked.week) &&
  (asked.reason === '' || one.reasons.some(({ kind }) => kind === asked.reason)) &&
  (asked.film === '' || hasFilm(one.facts));

/** What a season has to show, with reasons; plays are put into a program here while its meters move. */
export async function candidatePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };

  pages.get(
    '/training/programs/:programId/candidates',
    { config, schema: { hide: true, params, querystring: filter } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const { programId } = request.params;
      const { page, ...asked } = request.query;
      const program = await readProgram(pool, conferenceId, programId);
      const names = await readProgramNames(database, conferenceId, program.seasonId);
      const measured = await measureProgram(database, conferenceId, program);
      const all = await readCandidates(database, app.results, conferenceId, program.seasonId);
      const found = all.filter(fits(request.query));
      const path = `/training/programs/${programId}/candidates`;
      const paging = pagingOf({ asked: page, total: found.length, size: pageSize }, path, asked);
      const inside = new Map(program.plays.map((play, at) => [play.playId, at + 1]));
      const choose = (list: readonly (readonly [value: string, label: string])[], chosen: string) =>
        [['', 'Any'] as const, ...list].map(([value, label]) => ({
          value,
          label,
          chosen: value === chosen,
        }));
      const distinct = <T>(of: (one: Candidate) => T) => [...new Set(all.map(of))];
      const view = {
        program,
        meters: metersView(measured, program, names),
        list: path,
        back: addressWith(path, { ...asked, page: String(page) }),
        duties: choose(
          distinct(({ dutyKey }) => dutyKey)
            .map((key) => [key, names.duties.get(key)?.title ?? key] as const)
            .sort((a, b) => (a[1] < b[1] ? -1 : 1)),
          asked.duty,
        ),
        showings: choose(
          showings.map((one) => [one, capital(one)] as const),
          asked.showing,
        ),
        positions: choose(
          positions
            .filter((position) => all.some((one) => one.position === position))
            .map((one) => [one, capital(one)] as const),
          asked.position,
        ),
        reasons: choose(
          reasonKinds.map((one) => [one, capital(one)] as const),
          asked.reason,
        ),
        weeks: choose(
          distinct(({ facts }) => facts.week)
            .sort((a, b) => a - b)
            .map((week) => [String(week), `Week ${week}`] as const),
          asked.week,
        ),
        withFilm: asked.film !== '',
        paging,
        any: all.length > 0,
        candidates: found.slice(Math.max(0, paging.from - 1), paging.to).map((one, at, shown) => ({
          ...one,
          // A play with several lessons stands here several times; an id, once.
          first: shown.findIndex(({ facts }) => facts.playId === one.facts.playId) === at,
          tone: showingTone[one.showing],
          title: one.duty?.title ?? one.dutyKey,
          official: nameOf(names, one.officialId),
          crew: one.facts.crew ?? '',
          inWords: playInWords(one.facts.play),
          film: filmOfPlay(one.facts),
          reasons: one.reasons.map(({ kind, points }) => ({ kind: capital(kind), points })),
          alike: one.observers > 1 && one.showing !== 'to discuss',
          place: inside.get(one.facts.playId),
        })),
      };
      return reply.page('programs/candidates', view, { title: 'Plays to choose from', width: 'wide' });
    },
  );

  pages.post(
    '/training/programs/:programId/candidates',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const session = sessionOf(request);
      const { programId } = request.params;
      const form = formOf(request.body);
      const program = await readProgram(pool, session.conferenceId, programId);
      const all = await readCandidates(database, app.results, session.conferenceId, program.seasonId);
      const wanted = all.find(({ id }) => id === textOf(form.candidate));
      if (!wanted) throw notFound('candidate');
      const { playId } = wanted.facts;
      if (textOf(form.do) === 'out') await removePlay(pool, session, programId, playId);
      else await addPlays(pool, session, programId, [{ playId, card: firstCard(wanted, wanted.duty) }]);
      return reply.redirect(`${backTo(programId, textOf(form.back))}#play-${playId}`, 303);
    },
  );
}

/** Back to the list as it was, and nowhere else. */
const backTo = (programId: string, back: string): string => {
  const list = `/training/programs/${programId}/candidates`;
  return back.startsWith(`${list}?`) && !back.includes('#') ? back : list;
};
