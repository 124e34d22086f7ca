import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { modes } from '../../planning/planning-problem.ts';
import { typedText } from '../../text/typed-text.ts';
import { conflict, notFound } from '../../web/problem.ts';
import { NotTheTime, ObserverNotActive, RulesBroken } from '../offering.ts';
import { type SeasonGame, type SeasonMaterial, stands } from '../season-material.ts';
import { asChoice } from '../season-problem.ts';
import { seasonSpread } from '../season-spread.ts';
import { changeAssignments } from '../stores/assignment-store.ts';
import { saveGameCoverage } from '../stores/setting-store.ts';
import { exchanged } from './exchange-lines.ts';
import { placeView, standingOn } from './place-view.ts';
import { planChoice } from './plan-choice.ts';
import { seasonReader } from './season-reader.ts';

const id = z.uuid();

/** A game and its observer, as one value of a list. */
const assignmentChoice = z
  .string()
  .transform((text) => text.split('|'))
  .pipe(z.tuple([id, id]));
const reason = typedText({ most: 2000 }).default('');

/** One game's place filled by hand: alternatives, an exchange, and how many observers the game wants. */
export async function observerPlacePages(plain: FastifyInstance): Promise<void> {
  const app = plain.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  const { season, load } = seasonReader(app);

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
    const { spread } = await seasonSpread(app.results, sessionOf(request).conferenceId, material.season.id);
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
          as: z.enum(['offer', 'record']).default('offer'),
          standing: typedText({ most: 2000 }).optional(),
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
          const { standing } = request.body;
          if (standing !== undefined && standing !== standingOn(material, gameId)) throw new ChosenUnseen();
          return {
            withdraw:
              replacing && replacing !== picked.data.observerId ? [{ gameId, observerId: replacing }] : [],
            offer: request.body.as === 'offer' ? [picked.data] : [],
            record: request.body.as === 'record' ? [picked.data] : [],
            byHand: true,
            reason: request.body.reason,
          };
        });
      } catch (error) {
        if (error instanceof ChosenUnseen)
          return again(
            'Who watches this game has changed while this page was open: look again, then choose.',
          );
        if (error instanceof ObserverNotActive)
          return again('This observer is no longer active; choose another.');
        if (error instanceof RulesBroken) return again(`This choice ${breaksARule(error)}`);
        if (error instanceof NotTheTime) return again(error.message);
        throw error;
      }
      return reply.redirect(
        `/observers/weeks/${week}?done=${encodeURIComponent(request.body.as === 'offer' ? 'The game was offered.' : 'Who watched the game was noted; the report is on their desk.')}`,
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
        if (!(error instanceof RulesBroken || error instanceof NotTheTime)) throw error;
        return showPlace(request, reply, gameId, {
          replacing: request.body.observer,
          picked: null,
          error: error instanceof RulesBroken ? `This exchange ${breaksARule(error)}` : error.message,
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
}

/** Another coordinator, or the observer, was faster than a page that was open. */
class ChosenUnseen extends Error {}

function openGame(material: SeasonMaterial, gameId: string): SeasonGame {
  const game = material.games.find((one) => one.id === gameId);
  if (!game) throw notFound('game');
  if (game.reported)
    throw conflict('A report on this game was begun, so who watches it is no longer planned here.');
  return game;
}

const breaksARule = ({ broken }: RulesBroken) =>
  `breaks a rule (${broken.map(({ why }) => why).join('; ')}). Write why you choose it all the same; the reason is kept in the history.`;
