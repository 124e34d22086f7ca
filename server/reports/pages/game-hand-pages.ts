import type { FastifyInstance, FastifyReply } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { lackingFor } from '../../duties/crew-without-duty.ts';
import { compileRubric } from '../../duties/opportunities.ts';
import { nextPlay } from '../../football/next-play.ts';
import type { CrewSize } from '../../football/positions.ts';
import { type GameHead, readGameHead } from '../../games/game-head.ts';
import { plannedCrew } from '../../games/planned-crew.ts';
import { type CrewMember, crewAtWork } from '../../games/working-crew.ts';
import { codeOfSeason, readRubric } from '../../rubric/read-rubric.ts';
import { readOfficials } from '../../schedule/crew-store.ts';
import { crewChoices, membersForm, membersFrom } from '../../schedule/pages/crew-choices.ts';
import { wantsAnother } from '../../schedule/pages/entering.ts';
import { readCrews } from '../../schedule/schedule-store.ts';
import { type Form, type FormErrors, fieldErrors, formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { playLog, workingCrew } from '../filing/counted-material.ts';
import { asProblem } from '../request-errors.ts';
import { correctWorkingCrew } from '../review/correct-crew.ts';
import { addLoggedPlay, hasFiledReport } from '../review/corrections.ts';
import { playFieldGroups, playFromForm, type WrongFacts, wrongInSum } from './play-form.ts';
import { playLine, recountedView } from './recounted.ts';

/** What the coordinator enters of a game by hand: who worked it, and single plays. */
export async function gameHandPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  const ofGame = { hide: true, params: z.object({ gameId: z.uuid() }) };

  async function crewPage(
    reply: FastifyReply,
    game: GameHead,
    values: Form,
    errors: FormErrors = {},
    planned?: string,
  ) {
    const { conferenceId } = sessionOf(reply.request);
    const officials = await readOfficials(app.database, conferenceId);
    return reply.page(
      'reports/games/working-crew',
      {
        game,
        planned,
        wrong: errors.all,
        noOfficials: officials.length === 0,
        lacks: await lackingIn(conferenceId, game.seasonId, membersFrom(values)),
        ...crewChoices(game.crewSize as CrewSize, officials, values, errors),
      },
      { title: 'Who worked this game' },
    );
  }

  /** What the season's rubric lacks for these people; nothing while nobody is chosen or there is no rubric. */
  async function lackingIn(conferenceId: string, seasonId: string, members: readonly CrewMember[]) {
    const rubric = members.length > 0 ? await readRubric(pool, conferenceId, seasonId) : undefined;
    return rubric && lackingFor(compileRubric(rubric.duties), crewAtWork(members))?.sentence;
  }

  pages.get('/games/:gameId/crew', { config, schema: ofGame }, async (request, reply) => {
    const { conferenceId } = sessionOf(request);
    const game = await readGameHead(pool, conferenceId, request.params.gameId);
    const entered = await workingCrew(pool, conferenceId, game.id);
    if (entered.length > 0) return crewPage(reply, game, membersForm(entered));
    const members = await plannedCrew(pool, conferenceId, game.id);
    const crews = members.length > 0 ? await readCrews(pool, conferenceId, game.seasonId) : [];
    const planned = crews.find(({ id }) => id === game.crewId)?.name;
    return crewPage(reply, game, membersForm(members), {}, planned);
  });

  pages.post('/games/:gameId/crew', { config, schema: ofGame }, async (request, reply) => {
    const acting = sessionOf(request);
    const game = await readGameHead(pool, acting.conferenceId, request.params.gameId);
    const form = formOf(request.body);
    try {
      await inTransaction(pool, (client) => correctWorkingCrew(client, acting, game.id, membersFrom(form)));
    } catch (error) {
      return crewPage(reply.code(409), game, form, fieldErrors(error));
    }
    return reply.redirect(`/games/${game.id}?done=crew`, 303);
  });

  /** `after` is the play it follows: null the first, undefined the last of the log. */
  async function addPage(
    reply: FastifyReply,
    gameId: string,
    after: string | null | undefined,
    form?: Form,
    wrong: WrongFacts = {},
  ) {
    const { conferenceId } = sessionOf(reply.request);
    const game = await readGameHead(pool, conferenceId, gameId);
    const log = await playLog(pool, conferenceId, gameId);
    const code = await codeOfSeason(pool, conferenceId, game.seasonId);
    const before = after === null ? undefined : (log.find(({ id }) => id === after) ?? log.at(-1));
    const added = log.find(({ id }) => id === textOf(formOf(reply.request.query).added));
    const view = {
      game,
      filed: await hasFiledReport(pool, conferenceId, gameId),
      places: log.map((item) => {
        const { number, kind, down } = playLine(item);
        return {
          id: item.id,
          name: `after play ${number}: ${kind}, ${down}`,
          chosen: item.id === before?.id,
        };
      }),
      groups: playFieldGroups(nextPlay(before?.play, code), form, wrong),
      reason: textOf(form?.reason),
      wrong: wrongInSum(wrong),
      notice: added && `Added: play ${added.number}.`,
    };
    return reply.page('reports/games/add-play', view, { title: 'Add a play' });
  }

  pages.get(
    '/games/:gameId/plays/add',
    {
      config,
      schema: {
        ...ofGame,
        querystring: z.object({ after: z.uuid().optional(), added: z.uuid().optional() }),
      },
    },
    async (request, reply) => addPage(reply, request.params.gameId, request.query.after),
  );

  pages.post('/games/:gameId/plays/add', { config, schema: ofGame }, async (request, reply) => {
    const acting = sessionOf(request);
    const { id: gameId } = await readGameHead(pool, acting.conferenceId, request.params.gameId);
    const form = formOf(request.body);
    const place = z.union([z.literal('').transform(() => null), z.uuid()]).safeParse(textOf(form.after));
    const after = place.data ?? null;
    const { play, wrong } = playFromForm(form);
    if (play && place.success) {
      const reason = textOf(form.reason);
      try {
        const { playId, recounted } = await inTransaction(pool, (client) =>
          addLoggedPlay(client, acting, gameId, { after, play, reason }),
        );
        if (recounted.length > 0) {
          const title = 'Play added';
          const view = await recountedView(pool, acting.conferenceId, gameId, title, recounted);
          return reply.page('reports/games/corrected', view, { title });
        }
        const again = `/games/${gameId}/plays/add?after=${playId}&added=${playId}`;
        return reply.redirect(wantsAnother(form) ? again : `/games/${gameId}`, 303);
      } catch (error) {
        const problem = asProblem(error);
        if (!(problem instanceof Problem)) throw problem;
        wrong.all = problem.message;
      }
    }
    return addPage(reply.code(422), gameId, after, form, wrong);
  });
}
