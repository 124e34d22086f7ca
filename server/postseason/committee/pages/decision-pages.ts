import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../../accounts/policy.ts';
import { positionsOf } from '../../../football/crews.ts';
import type { CrewSize } from '../../../football/positions.ts';
import { tallyOf } from '../../../selection/ballots.ts';
import { isAlternate } from '../../../selection/slots.ts';
import { type Form, formOf, listOf, textOf } from '../../../web/form.ts';
import { rankRange, stateTone } from '../../candidate-words.ts';
import { refusedIn } from '../../pages/doing.ts';
import { ofGame, ofSelection } from '../../postseason-schemas.ts';
import { ballotsAreOpen, isOver, slotSchema, whatDecides } from '../../selection.ts';
import { readNames } from '../../stores/names-store.ts';
import { readSelection } from '../../stores/selection-rows.ts';
import { linesOf } from '../basis.ts';
import { asShown, missingReasons, placesDecided } from '../decisions.ts';
import { readOpenedBallots } from '../stores/ballot-store.ts';
import { basisNow } from '../stores/basis-store.ts';
import { readConflicts } from '../stores/member-store.ts';
import { keepReasons, readDeclined, readPassOvers } from '../stores/pass-over-store.ts';
import { longestReason, wordsTyped } from '../words-typed.ts';

/** Every place of a selection with whom people chose, whom they passed over, why, and what the committee holds of them. */
export async function decisionPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.selectionOfConference };

  async function show(
    request: FastifyRequest,
    reply: FastifyReply,
    selectionId: string,
    told: { refused?: string; place?: string; typed?: Form; done?: boolean } = {},
  ) {
    const { conferenceId, personId, timeZone } = sessionOf(request);
    const selection = await readSelection(pool, conferenceId, selectionId);
    const { basis, frozen } = await basisNow(pool, app.results, conferenceId, selection);
    const names = await readNames(pool, conferenceId);
    const ballots = await readOpenedBallots(pool, conferenceId, selection);
    const opened = ballotsAreOpen(selection);
    const conflicts = opened ? await readConflicts(pool, conferenceId, selectionId) : [];
    const places = placesDecided(
      selection,
      basis,
      await readPassOvers(pool, conferenceId, selectionId),
      await readDeclined(pool, conferenceId, selectionId),
    );
    const tiedTo = new Set(
      conflicts.filter(({ memberId }) => memberId === personId).map(({ officialId }) => officialId),
    );
    const nameOf = (id: string) => names.people.get(id) ?? '';
    const views = places.map((place) => {
      const { game, slot, choice, passedOver } = place;
      const key = `${game.id} ${slot}`;
      const typed = told.place === key ? told.typed : undefined;
      const lines = choice ? linesOf(basis, game.id, choice.position) : [];
      const line = (id: string) => lines.find(({ officialId }) => officialId === id);
      const tallies = choice
        ? tallyOf(
            ballots.filter((one) => one.gameId === game.id && one.position === choice.position),
            conflicts,
          )
        : [];
      const votesOn = (id: string) => {
        // Whoever is in conflict with somebody does not read about them.
        if (tiedTo.has(id)) return undefined;
        const tally = tallies.find(({ officialId }) => officialId === id);
        return (
          tally && {
            ...tally,
            notes: tally.notes.map(({ memberId, note }) => ({ by: nameOf(memberId), note })),
          }
        );
      };
      return {
        ...{ gameId: game.id, game: game.name, slot, key: key.replaceAll(' ', '-') },
        position: isAlternate(slot) ? positionsOf(game.crewSize as CrewSize)[0] : slot,
        seen: asShown(place),
        tied:
          (choice !== null && tiedTo.has(choice.officialId)) ||
          passedOver.some(({ officialId }) => tiedTo.has(officialId)),
        refused: told.place === key ? told.refused : undefined,
        choice: choice && {
          ...choice,
          name: nameOf(choice.officialId),
          by: nameOf(choice.chosenBy),
          likely: rankRange(line(choice.officialId)?.rank ?? null),
          tier: line(choice.officialId)?.tier ?? null,
          votes: votesOn(choice.officialId),
          typedReason: typed ? textOf(typed.reason) : choice.reason,
        },
        over: passedOver.map((one) => ({
          ...one,
          name: nameOf(one.officialId),
          likely: rankRange(line(one.officialId)?.rank ?? null),
          votes: votesOn(one.officialId),
          kept: one.recorded,
          typedReason: typed ? textOf(typed[`over-${one.officialId}`]) : (one.recorded?.reason ?? ''),
        })),
        severalWithout: passedOver.filter(({ recorded }) => !recorded).length > 1,
        sameTier: passedOver.some((one) => one.sameTier),
      };
    });
    return reply.page(
      'postseason/decisions',
      {
        ...{ selection, whatDecides, timeZone, opened, frozen, basis, done: told.done },
        tone: stateTone[selection.state],
        isClosed: isOver(selection),
        voting: selection.state === 'sealed voting',
        missing: missingReasons(places).map(({ gameId, slot, words }) => ({
          words,
          anchor: `${gameId} ${slot}`.replaceAll(' ', '-'),
        })),
        chosen: places.filter(({ choice }) => choice).length,
        all: places.length,
        games: selection.games.map((game) => ({
          ...game,
          places: views.filter(({ gameId }) => gameId === game.id),
        })),
      },
      { title: `Decisions, ${selection.title}`, width: 'wide' },
    );
  }

  pages.get(
    '/postseason/:selectionId/decisions',
    {
      config,
      schema: { hide: true, params: ofSelection, querystring: z.object({ kept: z.string().optional() }) },
    },
    async (request, reply) =>
      show(request, reply, request.params.selectionId, { done: request.query.kept === 'yes' }),
  );

  pages.post(
    '/postseason/:selectionId/games/:selectionGameId/places/:slot/reasons',
    { config, schema: { hide: true, params: ofGame.extend({ slot: slotSchema }) } },
    async (request, reply) => {
      const { selectionId, selectionGameId: gameId, slot } = request.params;
      const { conferenceId } = sessionOf(request);
      const form = formOf(request.body);
      const words = (field: string) => wordsTyped(textOf(form[field]), field, longestReason, 'a reason');
      const selection = await readSelection(pool, conferenceId, selectionId);
      const { basis } = await basisNow(pool, app.results, conferenceId, selection);
      try {
        const forAll = words('forAll');
        await keepReasons(
          pool,
          sessionOf(request),
          selectionId,
          { gameId, slot },
          {
            seen: textOf(form.seen),
            reason: words('reason'),
            over: listOf(form.over).map((officialId) => ({
              officialId,
              reason: words(`over-${officialId}`) || forAll,
            })),
          },
          basis,
        );
      } catch (error) {
        const { status, sentence } = refusedIn(error);
        reply.code(status);
        return show(request, reply, selectionId, {
          ...{ refused: sentence, place: `${gameId} ${slot}`, typed: form },
        });
      }
      return reply.redirect(
        `/postseason/${selectionId}/decisions?kept=yes#place-${gameId}-${slot.replaceAll(' ', '-')}`,
        303,
      );
    },
  );
}
