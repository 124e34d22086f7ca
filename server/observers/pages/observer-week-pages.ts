import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Choice } from '../../planning/planning-problem.ts';
import { noSeason } from '../../schedule/pages/no-season.ts';
import { seasonInView } from '../../schedule/seasons.ts';
import { typedText } from '../../text/typed-text.ts';
import { Problem } from '../../web/problem.ts';
import { type AssignmentChange, ObserverNotActive, RulesBroken, type WantedChange } from '../offering.ts';
import type { Planner } from '../planner.ts';
import { type SeasonMaterial, stands } from '../season-material.ts';
import { gamesInScope, isSettled, type PlanScope, planningProblemOf } from '../season-problem.ts';
import { seasonSpread } from '../season-spread.ts';
import { changeAssignments } from '../stores/assignment-store.ts';
import { planChoice } from './plan-choice.ts';
import { seasonReader } from './season-reader.ts';
import { planView } from './week-view.ts';

const id = z.uuid();

/** A form sends one ticked box as a string, several as a list, none not at all. */
const many = <T extends z.ZodType>(item: T) =>
  z.preprocess(
    (value) => (value === undefined ? [] : Array.isArray(value) ? value : [value]),
    z.array(item).max(2000),
  );

/** A week's games and observers: what stands, a suggestion to take in whole or in part. */
export function observerWeekPages(planner: Planner) {
  return async (plain: FastifyInstance) => {
    const app = plain.withTypeProvider<ZodTypeProvider>();
    const { pool } = app.database;
    const config = { policy: policies.coordinator };
    const { season, load } = seasonReader(app);
    const week = z.object({ week: z.coerce.number().int().min(0).max(30) });

    app.get('/observers', { config, schema: { hide: true } }, async (request, reply) => {
      if (!(await seasonInView(app.database, request))) {
        return noSeason(reply);
      }
      const material = await load(request);
      const unreported = material.games.filter((game) => !game.reported);
      const first = unreported.find((game) => !game.over) ?? unreported.at(-1) ?? material.games.at(-1);
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
      const scope: PlanScope = { week: weekNumber, rest: plan === 'rest' };
      const { spread } = await seasonSpread(app.results, sessionOf(request).conferenceId, material.season.id);
      if (!plan) planner.warm();
      const answer = plan ? await planner.plan(planningProblemOf(material, scope, spread)) : null;
      const view = planView({ material, scope, spread, answer });
      return reply.code(refused ? 409 : 200).page(
        'observers/week',
        {
          ...view,
          refused,
          season: material.season,
          toNote: view.games.some(({ reported }) => !reported),
          noGames: !material.games.some((game) => game.week === weekNumber),
          done,
        },
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
  };
}

/** Why a suggestion was not taken, for the coordinator; null for an error of another sort. */
function whyNotTaken(error: unknown): string | null {
  if (error instanceof RulesBroken)
    return `Taken in part, or after a change in the meantime, this suggestion would break a rule (an observer ${error.broken[0]?.why}), so nothing was changed. Below is a suggestion from what stands now; tick together the games between which an observer moves.`;
  if (error instanceof ObserverNotActive)
    return 'An observer of this suggestion is no longer active; ask for a new one.';
  return error instanceof Problem && error.status === 409 ? error.message : null;
}

/**
 * The part of a suggestion that the coordinator ticked, as a change of what stands now. What was answered, locked or
 * reported on in the meantime is not touched.
 */
function acceptedPart(
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
