import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { type Choice, modes } from '../../planning/planning-problem.ts';
import { noSeason } from '../../schedule/pages/no-season.ts';
import { seasonInView } from '../../schedule/seasons.ts';
import { typedText } from '../../text/typed-text.ts';
import { conflict, notFound, Problem } from '../../web/problem.ts';
import { type AssignmentChange, ObserverNotActive, RulesBroken, type WantedChange } from '../offering.ts';
import type { Planner } from '../planner.ts';
import { type SeasonGame, type SeasonMaterial, stands } from '../season-material.ts';
import { asChoice, gamesInScope, isSettled, type PlanScope, problemOf } from '../season-problem.ts';
import { seasonSpread } from '../season-spread.ts';
import { changeAssignments, lockAssignment } from '../stores/assignment-store.ts';
import { loadSeason } from '../stores/season-store.ts';
import { saveGameCoverage } from '../stores/setting-store.ts';
import { tellObservers } from '../telling.ts';
import { exchanged, placeView, planView } from './observer-plan-view.ts';

const id = z.uuid();
const planChoice = z
  .string()
  .transform((text) => {
    const [gameId, observerId, mode] = text.split('|');
    return { gameId, observerId, mode };
  })
  .pipe(z.object({ gameId: id, observerId: id, mode: z.enum(['in person', 'film']) }));
/** A game and its observer, as one value of a list. */
const assignmentChoice = z
  .string()
  .transform((text) => text.split('|'))
  .pipe(z.tuple([id, id]));
/** A form sends one ticked box as a string, several as a list, none not at all. */
const many = <T extends z.ZodType>(item: T) =>
  z.preprocess(
    (value) => (value === undefined ? [] : Array.isArray(value) ? value : [value]),
    z.array(item).max(2000),
  );
const reason = typedText({ most: 2000 }).default('');

/** The coordinator's pages for who watches which game. */
export function observerPlanPages(planner: Planner) {
  return async (plain: FastifyInstance) => {
    const app = plain.withTypeProvider<ZodTypeProvider>();
    const { pool } = app.database;
    const config = { policy: policies.coordinator };
    const season = async (request: FastifyRequest) => {
      const found = await seasonInView(app.database, request);
      if (!found) throw notFound('season');
      return found;
    };
    const load = async (request: FastifyRequest) =>
      loadSeason(app.database, sessionOf(request).conferenceId, (await season(request)).id);
    const week = z.object({ week: z.coerce.number().int().min(0).max(30) });

    app.get('/observers', { config, schema: { hide: true } }, async (request, reply) => {
      if (!(await seasonInView(app.database, request))) {
        return noSeason(reply);
      }
      const material = await load(request);
      const open = material.games.filter((game) => !game.reported);
      const first = open[0] ?? material.games.at(-1);
      return reply.redirect(first ? `/observers/weeks/${first.week}` : '/observers/people', 303);
    });

    app.get(
      '/observers/weeks/:week',
      {
        config,
        schema: {
          hide: true,
          params: week,
          querystring: z.object({
            plan: z.enum(['week', 'rest']).optional(),
            done: typedText({ most: 200 }).optional(),
          }),
        },
      },
      async (request, reply) =>
        (await seasonInView(app.database, request))
          ? showWeek(
              request,
              reply,
              request.params.week,
              request.query.plan ?? null,
              request.query.done ?? '',
            )
          : noSeason(reply),
    );

    async function showWeek(
      request: FastifyRequest,
      reply: FastifyReply,
      weekNumber: number,
      plan: 'week' | 'rest' | null,
      done: string,
      refused: string | null = null,
    ) {
      const material = await load(request);
      if (!material.games.some((game) => game.week === weekNumber)) throw notFound('week');
      const scope: PlanScope = { week: weekNumber, rest: plan === 'rest' };
      const { spread } = await seasonSpread(
        app.database,
        sessionOf(request).conferenceId,
        material.season.id,
      );
      if (!plan) planner.warm();
      const answer = plan ? await planner.plan(problemOf(material, scope, spread)) : null;
      const view = planView({ material, scope, spread, answer });
      return reply
        .code(refused ? 409 : 200)
        .page(
          'observers/week',
          { ...view, refused, season: material.season, done, mail: app.settings.SMTP_URL !== undefined },
          { title: `Observers, week ${weekNumber}`, width: 'wide' },
        );
    }

    app.post(
      '/observers/weeks/:week/accept',
      {
        config,
        schema: {
          hide: true,
          params: week,
          body: z.object({ plan: z.enum(['week', 'rest']), game: many(id), choice: many(planChoice) }),
        },
      },
      async (request, reply) => {
        const { plan, game: ticked, choice: choices } = request.body;
        const scope: PlanScope = { week: request.params.week, rest: plan === 'rest' };
        let change: AssignmentChange;
        try {
          change = await changeAssignments(pool, sessionOf(request), await season(request), (material) =>
            acceptedPart(material, scope, new Set(ticked), choices),
          );
        } catch (error) {
          const refused = whyNotTaken(error);
          if (refused) return showWeek(request, reply, scope.week, plan, '', refused);
          throw error;
        }
        const offered = change.offer.length;
        return reply.redirect(
          `/observers/weeks/${request.params.week}?done=${encodeURIComponent(
            offered === 0 && change.withdraw.length === 0
              ? 'Nothing was changed.'
              : `${offered} ${offered === 1 ? 'assignment' : 'assignments'} offered, ${change.withdraw.length} taken back.`,
          )}`,
          303,
        );
      },
    );

    const place = {
      params: z.object({ gameId: id }),
      querystring: z.object({
        replacing: id.optional(),
        observer: id.optional(),
        how: z.enum(modes).optional(),
      }),
    };

    app.get(
      '/observers/games/:gameId/place',
      { config, schema: { hide: true, ...place } },
      async (request, reply) => {
        const { replacing, observer, how } = request.query;
        return showPlace(request, reply, request.params.gameId, {
          replacing: replacing ?? null,
          picked: observer ? `${observer}|${how ?? 'in person'}` : null,
        });
      },
    );

    async function showPlace(
      request: FastifyRequest,
      reply: FastifyReply,
      gameId: string,
      asked: { replacing: string | null; picked: string | null; error?: string; reason?: string },
    ) {
      const material = await load(request);
      const { spread } = await seasonSpread(
        app.database,
        sessionOf(request).conferenceId,
        material.season.id,
      );
      const view = placeView(material, spread, { gameId, ...asked });
      if (!view) throw notFound('game');
      if (view.closed)
        throw conflict('A report on this game was begun, so who watches it is no longer planned here.');
      const { prepared: _prepared, present: _present, ...shown } = view;
      return reply
        .code(asked.error ? 400 : 200)
        .page(
          'observers/place',
          { ...asked, ...shown, pickedBreaks: shown.breaking.some((line) => line.checked) },
          { title: 'Choose an observer', width: 'wide' },
        );
    }

    app.post(
      '/observers/games/:gameId/place',
      {
        config,
        schema: {
          hide: true,
          params: place.params,
          body: z.object({
            replacing: z.union([id, z.literal('')]).default(''),
            pick: typedText({ most: 100 }).default(''),
            reason,
          }),
        },
      },
      async (request, reply) => {
        const { gameId } = request.params;
        const replacing = request.body.replacing || null;
        const again = (error: string) =>
          showPlace(request, reply, gameId, {
            replacing,
            picked: request.body.pick,
            error,
            reason: request.body.reason,
          });
        const picked = planChoice.safeParse(`${gameId}|${request.body.pick}`);
        if (!picked.success) return again('Choose an observer first.');
        let week = 0;
        try {
          await changeAssignments(pool, sessionOf(request), await season(request), (material) => {
            week = openGame(material, gameId).week;
            return {
              withdraw:
                replacing && replacing !== picked.data.observerId ? [{ gameId, observerId: replacing }] : [],
              offer: [picked.data],
              byHand: true,
              reason: request.body.reason,
            };
          });
        } catch (error) {
          if (error instanceof ObserverNotActive)
            return again('This observer is no longer active; choose another.');
          if (error instanceof RulesBroken) return again(`This choice ${breaksARule(error)}`);
          throw error;
        }
        return reply.redirect(
          `/observers/weeks/${week}?done=${encodeURIComponent('The game was offered.')}`,
          303,
        );
      },
    );

    app.post(
      '/observers/games/:gameId/exchange',
      {
        config,
        schema: {
          hide: true,
          params: place.params,
          body: z.object({ observer: id, with: assignmentChoice, reason }),
        },
      },
      async (request, reply) => {
        const { gameId } = request.params;
        const [otherGame, otherObserver] = request.body.with;
        let week = 0;
        try {
          await changeAssignments(pool, sessionOf(request), await season(request), (material) => {
            week = openGame(material, gameId).week;
            const present = material.assignments.filter(stands).map(asChoice);
            const one = present.find(
              (choice) => choice.gameId === gameId && choice.observerId === request.body.observer,
            );
            const other = present.find(
              (choice) => choice.gameId === otherGame && choice.observerId === otherObserver,
            );
            if (!one || !other)
              throw conflict('One of the two assignments has changed in the meantime; load the page again.');
            const moved = exchanged(present, one, other).slice(-2);
            return { withdraw: [one, other], offer: moved, byHand: true, reason: request.body.reason };
          });
        } catch (error) {
          if (!(error instanceof RulesBroken)) throw error;
          return showPlace(request, reply, gameId, {
            replacing: request.body.observer,
            picked: null,
            error: `This exchange ${breaksARule(error)}`,
          });
        }
        return reply.redirect(
          `/observers/weeks/${week}?done=${encodeURIComponent('The two observers were exchanged.')}`,
          303,
        );
      },
    );

    app.post(
      '/observers/games/:gameId/coverage',
      {
        config,
        schema: {
          hide: true,
          params: place.params,
          body: z.object({
            wanted: z.coerce.number().int('is a whole number').min(0).max(10),
            film: z.literal('on').optional(),
          }),
        },
      },
      async (request, reply) => {
        const { gameId } = request.params;
        const material = await load(request);
        const { wanted, film } = request.body;
        await saveGameCoverage(pool, sessionOf(request), gameId, {
          observersWanted: wanted === material.settings.observersPerGame ? null : wanted,
          filmAllowed: film === 'on',
        });
        const game = material.games.find((one) => one.id === gameId);
        return reply.redirect(
          `/observers/weeks/${game?.week ?? ''}?done=${encodeURIComponent('Coverage of the game was changed.')}`,
          303,
        );
      },
    );

    const assignment = z.object({ assignmentId: id });
    app.post(
      '/observers/assignments/:assignmentId/withdraw',
      { config, schema: { hide: true, params: assignment } },
      async (request, reply) => {
        let week = 0;
        await changeAssignments(pool, sessionOf(request), await season(request), (material) => {
          const found = material.assignments.find((one) => one.id === request.params.assignmentId);
          const game = material.games.find((one) => one.id === found?.gameId);
          if (!found || !game) throw notFound('assignment');
          week = game.week;
          return { withdraw: [found], offer: [] };
        });
        return reply.redirect(
          `/observers/weeks/${week}?done=${encodeURIComponent('The assignment was taken back.')}`,
          303,
        );
      },
    );
    for (const [verb, locked] of [
      ['lock', true],
      ['unlock', false],
    ] as const)
      app.post(
        `/observers/assignments/:assignmentId/${verb}`,
        { config, schema: { hide: true, params: assignment } },
        async (request, reply) => {
          const { gameId } = await lockAssignment(
            pool,
            sessionOf(request),
            request.params.assignmentId,
            locked,
          );
          const material = await load(request);
          const game = material.games.find((one) => one.id === gameId);
          return reply.redirect(`/observers/weeks/${game?.week ?? ''}`, 303);
        },
      );

    app.post(
      '/observers/weeks/:week/tell',
      { config, schema: { hide: true, params: week } },
      async (request, reply) => {
        const told = await tellObservers(app, sessionOf(request).conferenceId, request.params.week);
        const sentence =
          told.failed > 0
            ? `${told.sent} e-mails sent, ${told.failed} failed: ${told.reason}`
            : `${told.sent} ${told.sent === 1 ? 'e-mail' : 'e-mails'} sent.`;
        return reply.redirect(
          `/observers/weeks/${request.params.week}?done=${encodeURIComponent(sentence)}`,
          303,
        );
      },
    );
  };
}

function openGame(material: SeasonMaterial, gameId: string): SeasonGame {
  const game = material.games.find((one) => one.id === gameId);
  if (!game) throw notFound('game');
  if (game.reported)
    throw conflict('A report on this game was begun, so who watches it is no longer planned here.');
  return game;
}

/** Why a suggestion was not taken, for the coordinator; null for an error of another sort. */
function whyNotTaken(error: unknown): string | null {
  if (error instanceof RulesBroken)
    return `Taken in part, or after a change in the meantime, this suggestion would break a rule (an observer ${error.broken[0]?.why}), so nothing was changed. Below is a suggestion from what stands now; tick together the games between which an observer moves.`;
  if (error instanceof ObserverNotActive)
    return 'An observer of this suggestion is no longer active; ask for a new one.';
  return error instanceof Problem && error.status === 409 ? error.message : null;
}

const breaksARule = ({ broken }: RulesBroken) =>
  `breaks a rule (${broken.map(({ why }) => why).join('; ')}). Write why you choose it all the same; the reason is kept in the audit trail.`;

/**
 * The part of a suggestion that the coordinator ticked, as a change of what stands now. What was answered, locked or
 * reported on in the meantime is not touched.
 */
export function acceptedPart(
  material: SeasonMaterial,
  scope: PlanScope,
  ticked: ReadonlySet<string>,
  choices: readonly Choice[],
): WantedChange {
  const open = new Set(
    gamesInScope(material, scope)
      .map((game) => game.id)
      .filter((game) => ticked.has(game)),
  );
  const wanted = choices.filter((choice) => open.has(choice.gameId));
  const now = material.assignments.filter((one) => stands(one) && open.has(one.gameId));
  const isSame = (one: Omit<Choice, 'mode'>, other: Omit<Choice, 'mode'>) =>
    one.gameId === other.gameId && one.observerId === other.observerId;
  const withdraw = now.filter((one) => !isSettled(one) && !wanted.some((choice) => isSame(choice, one)));
  const offer = wanted.filter(
    (choice) => !now.some((one) => isSame(choice, one) && one.mode === choice.mode),
  );
  return { withdraw, offer };
}
