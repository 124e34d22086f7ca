import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { peopleInRoles } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { positionsOf } from '../../football/crews.ts';
import { type CrewSize, type Position, positions } from '../../football/positions.ts';
import { chanceText } from '../../results/pages/rank-words.ts';
import { type Slot, slotsOf } from '../../selection/slots.ts';
import { tierRule } from '../../selection/tiers.ts';
import { formOf, textOf } from '../../web/form.ts';
import { number } from '../../web/format.ts';
import { byTier, type CandidateLine, candidateLines, positionsToShow } from '../candidate-view.ts';
import { eligibleWords, holdsTone, objections, rankRange } from '../candidate-words.ts';
import { ofGame, ofSelection } from '../postseason-schemas.ts';
import { choiceSchema, isOver, slotSchema, whatDecides } from '../selection.ts';
import { choose, unchoose } from '../stores/choice-store.ts';
import { gameOf } from '../stores/game-store.ts';
import { readMaterial } from '../stores/material-store.ts';
import { readSelection } from '../stores/selection-rows.ts';
import { refusedIn } from './doing.ts';

const asked = z.object({
  position: z.enum(positions).optional(),
  game: z.uuid().optional(),
  slot: slotSchema.optional(),
});

/** The candidates of a position in tiers, held against a game, and choosing one of them for a place. */
export async function candidatePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.selectionOfConference };

  async function show(
    request: FastifyRequest,
    reply: FastifyReply,
    selectionId: string,
    query: z.output<typeof asked>,
    refused?: string,
  ) {
    const { conferenceId } = sessionOf(request);
    const selection = await readSelection(pool, conferenceId, selectionId);
    const game = query.game ? gameOf(selection, query.game) : (selection.games[0] ?? null);
    const material = await readMaterial(pool, app.results, conferenceId, selection);
    const shown = positionsToShow(material);
    const position: Position = query.position ?? shown[0] ?? 'referee';
    const lines = candidateLines(material, position, game?.id ?? null);
    const slots = game ? slotsOf({ ...game, positions: positionsOf(game.crewSize as CrewSize) }) : [];
    const slot: Slot | null =
      query.slot && slots.includes(query.slot) ? query.slot : slots.includes(position) ? position : null;
    const chosenHere = selection.choices.find((one) => one.gameId === game?.id && one.slot === slot);
    const enough = lines.filter(({ rank }) => rank).length <= material.top;
    const line = (one: CandidateLine) => ({
      ...one,
      ...{ eligibleWords: eligibleWords[one.eligible], tone: holdsTone[one.eligible] },
      objections: objections(one.findings),
      met: one.findings.filter(({ holds }) => holds === 'met'),
      likely: rankRange(one.rank),
      gradeText: one.grade ? number(one.grade.grade, 2) : '–',
      gradeRange: one.grade ? `${number(one.grade.low, 2)} to ${number(one.grade.high, 2)}` : '',
      ...{ chanceText: chanceText(one.chance, enough), otherChanceText: chanceText(one.otherChance, enough) },
      crewNames: one.crews.join(', '),
      milesText: one.miles === null ? 'not known' : `${Math.round(one.miles)} mi`,
      isChosen: chosenHere?.officialId === one.officialId,
      elsewhere: selection.choices
        .filter((other) => other.officialId === one.officialId && other !== chosenHere)
        .map((other) => `${other.slot}, ${gameOf(selection, other.gameId).name}`)
        .join('; '),
    });
    const ranked = byTier(lines).filter(({ tier }) => tier !== null);
    return reply.page(
      'postseason/candidates',
      {
        ...{ selection, game, position, slot, refused, tierRule, whatDecides, material },
        tabs: shown.map((name) => ({ name, here: name === position })),
        games: selection.games.map((one) => ({ ...one, here: one.id === game?.id })),
        slots: slots
          .filter((one) => one === position || one.startsWith('alternate'))
          .map((name) => ({ name, here: name === slot })),
        tiers: ranked.map(({ tier, candidates }) => ({ tier, candidates: candidates.map(line) })),
        oneTier: ranked.length === 1,
        unranked: lines.filter(({ tier }) => tier === null).map(line),
        notKnown: lines.filter(({ eligible }) => eligible === 'not known').length,
        chosen: chosenHere && {
          ...chosenHere,
          name: material.names.get(chosenHere.officialId) ?? '',
        },
        others: (await peopleInRoles(app.database, conferenceId, ['official'])).filter(
          ({ id }) => !lines.some(({ officialId }) => officialId === id),
        ),
        isOver: isOver(selection),
        canChoose: slot !== null && !isOver(selection),
        notComparable: ranked.length > 0 && lines.every(({ rank, chance }) => !rank || chance === null),
      },
      { title: `Candidates: ${position}`, width: 'wide' },
    );
  }

  pages.get(
    '/postseason/:selectionId/candidates',
    { config, schema: { hide: true, params: ofSelection, querystring: asked } },
    async (request, reply) => show(request, reply, request.params.selectionId, request.query),
  );

  const ofPlace = ofGame.extend({ slot: slotSchema });
  pages.post(
    '/postseason/:selectionId/games/:selectionGameId/places/:slot',
    { config, schema: { hide: true, params: ofPlace } },
    async (request, reply) => {
      const { selectionId, selectionGameId: gameId, slot } = request.params;
      const form = formOf(request.body);
      const typed = { officialId: textOf(form.officialId), position: textOf(form.position) };
      try {
        if (textOf(form.free) === 'yes')
          await unchoose(pool, sessionOf(request), selectionId, { gameId, slot });
        else {
          const parsed = choiceSchema.parse({ ...typed, reason: textOf(form.reason) });
          await choose(pool, sessionOf(request), selectionId, { gameId, slot }, parsed);
        }
      } catch (error) {
        const { status, sentence } = refusedIn(error);
        reply.code(status);
        const position = positions.find((one) => one === typed.position);
        return show(request, reply, selectionId, { position, game: gameId, slot }, sentence);
      }
      return reply.redirect(`/postseason/${selectionId}?done=chosen#game-${gameId}`, 303);
    },
  );
}
