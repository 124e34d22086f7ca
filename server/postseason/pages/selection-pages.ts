import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { conflict } from '../../web/problem.ts';
import { stateTone } from '../candidate-words.ts';
import { ofSelection } from '../postseason-schemas.ts';
import type { Proposer } from '../proposer.ts';
import { proposeFor, readProposal } from '../proposing.ts';
import { isAt, isOver, whatDecides } from '../selection.ts';
import { chooseProposed } from '../stores/choice-store.ts';
import { readNames } from '../stores/names-store.ts';
import { readSelection } from '../stores/selection-rows.ts';
import { removeSelection } from '../stores/selection-store.ts';
import { doing } from './doing.ts';
import { gamesView } from './selection-view.ts';

const done = {
  kept: 'Kept.',
  proposed: 'The program made a proposal: it stands beside each open place. Nobody is chosen by it.',
  taken: 'The proposal was taken over as your choices; each can still be changed.',
  chosen: 'Chosen.',
} as const;

/** One selection: its games and places, the proposal, and what comes next. */
export function selectionPages(proposer: Proposer) {
  return async (app: FastifyInstance): Promise<void> => {
    const pages = app.withTypeProvider<ZodTypeProvider>();
    const { database } = app;
    const { pool } = database;
    const config = { policy: policies.selectionOfConference };
    const address = (id: string, then = '') => `/postseason/${id}${then}`;

    async function show(
      request: FastifyRequest,
      reply: FastifyReply,
      selectionId: string,
      told: { refused?: string; done?: string | undefined } = {},
    ) {
      const { conferenceId, timeZone } = sessionOf(request);
      const selection = await readSelection(pool, conferenceId, selectionId);
      const kept = await readProposal(pool, conferenceId, selectionId);
      const names = await readNames(pool, conferenceId);
      const games = gamesView(selection, kept?.proposal ?? null, names);
      return reply.page(
        'postseason/selection',
        {
          ...{ selection, whatDecides, games, timeZone, ...told },
          season: await seasonOf(database, conferenceId, selection.seasonId),
          tone: stateTone[selection.state],
          preparing: isAt(selection, 'preparing'),
          isClosed: isOver(selection),
          open: games.reduce((sum, game) => sum + game.open, 0),
          proposal: kept && {
            ...kept.proposal,
            proposedAt: kept.proposedAt,
            by: names.people.get(kept.proposedBy) ?? '',
            toTake: games
              .flatMap(({ places }) => places)
              .filter(({ proposed, chosen }) => proposed && !chosen).length,
            // Where facts were never entered, rules leave everybody out: a beginning, and no dead end.
            lacksFacts:
              selection.rules.notKnown === 'leave out' &&
              games.some(({ places }) => places.some(({ why }) => why?.includes('(not known)'))),
            ...departures(games),
          },
        },
        { title: selection.title, width: 'wide' },
      );
    }

    pages.get(
      '/postseason/:selectionId',
      {
        config,
        schema: { hide: true, params: ofSelection, querystring: z.object({ done: z.string().optional() }) },
      },
      async (request, reply) => {
        const said = Object.entries(done).find(([key]) => key === request.query.done)?.[1];
        return show(request, reply, request.params.selectionId, { done: said });
      },
    );

    const posts = (
      path: string,
      work: (request: FastifyRequest, selectionId: string) => Promise<string>,
    ): void => {
      pages.post(path, { config, schema: { hide: true, params: ofSelection } }, async (request, reply) => {
        const { selectionId } = request.params;
        return doing(
          reply,
          () => work(request, selectionId),
          (refused) => show(request, reply, selectionId, { refused }),
        );
      });
    };

    posts('/postseason/:selectionId/propose', async (request, selectionId) => {
      await proposeFor(pool, app.results, proposer, sessionOf(request), selectionId);
      return address(selectionId, '?done=proposed');
    });

    posts('/postseason/:selectionId/take-over', async (request, selectionId) => {
      const { conferenceId } = sessionOf(request);
      const kept = await readProposal(pool, conferenceId, selectionId);
      if (!kept) throw conflict('There is no proposal yet: let the program propose first.');
      await chooseProposed(pool, sessionOf(request), selectionId, kept.proposal.choices);
      return address(selectionId, '?done=taken');
    });

    posts('/postseason/:selectionId/delete', async (request, selectionId) => {
      const session = sessionOf(request);
      const { seasonId } = await readSelection(pool, session.conferenceId, selectionId);
      await removeSelection(pool, session, selectionId);
      return `/seasons/${seasonId}/postseason`;
    });
  };
}

/** How many chosen places are as they were proposed, and in how many people chose otherwise. */
function departures(games: ReturnType<typeof gamesView>) {
  const both = games
    .flatMap(({ places }) => places)
    .filter(({ proposed, why, chosen }) => chosen && (proposed || why));
  const as = both.filter(({ proposed }) => proposed?.isChosen).length;
  return { asProposed: as, otherwise: both.length - as };
}
