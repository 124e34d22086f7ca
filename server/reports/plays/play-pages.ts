import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { readPeople } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { loggedFacts, playInWords } from '../../football/play-in-words.ts';
import { positions } from '../../football/positions.ts';
import { readGameHead } from '../../games/game-head.ts';
import { hasRubric } from '../../rubric/rubric-store.ts';
import { readPlayDuties } from './play-duties.ts';
import { readGameTitle, readPlayList } from './play-list.ts';

const ofGame = z.object({ gameId: z.uuid() });
const ofPlay = ofGame.extend({ playId: z.uuid() });

/** A game's play log, and for any play of it: who owed what, and why. */
export async function playPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;

  pages.get(
    '/games/:gameId/plays',
    { config: { policy: policies.assignedGame }, schema: { hide: true, params: ofGame } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const { gameId } = request.params;
      const game = await readGameTitle(database.pool, conferenceId, gameId);
      const plays = await readPlayList(database.pool, conferenceId, gameId);
      return reply.page(
        'reports/plays/plays',
        {
          game,
          plays: plays.map((one) => ({
            ...one,
            inWords: playInWords(one.play),
            facts: loggedFacts(one.play).length,
          })),
        },
        { title: `Plays: ${game.title}` },
      );
    },
  );

  pages.get(
    '/games/:gameId/plays/:playId/duties',
    { config: { policy: policies.assignedGame }, schema: { hide: true, params: ofPlay } },
    async (request, reply) => {
      const { conferenceId, roles } = sessionOf(request);
      const { gameId, playId } = request.params;
      const { seasonId } = await readGameHead(database.pool, conferenceId, gameId);
      if (!(await hasRubric(database.pool, conferenceId, seasonId))) {
        return reply.redirect(`/seasons/${seasonId}/rubric/start`, 303);
      }
      const found = await readPlayDuties(database, conferenceId, gameId, playId);
      const game = await readGameTitle(database.pool, conferenceId, gameId);
      const people = await readPeople(database.pool, conferenceId);
      const plays = await readPlayList(database.pool, conferenceId, gameId);
      const here = plays.findIndex((play) => play.id === playId);
      return reply.page(
        'reports/plays/play',
        {
          game,
          number: found.number,
          note: found.note,
          seasonId: found.seasonId,
          rubricNumber: found.rubricNumber,
          mayCorrect: roles.has('coordinator'),
          playId,
          inWords: playInWords(found.play),
          facts: loggedFacts(found.play),
          before: plays[here - 1],
          after: plays[here + 1],
          officials: positions
            .filter((position) => found.crew.present.includes(position))
            .map((position) => {
              const member = found.members.find((one) => one.position === position);
              return {
                position,
                official: member === undefined ? null : people.get(member.personId),
                owed: found.owed
                  .filter((one) => one.position === position)
                  .map((one) => ({
                    ...one,
                    why: one.why.map((reason) => ({ ...reason, isUnless: reason.part === 'unless' })),
                  })),
              };
            }),
          owedCount: found.owed.length,
          undecided: found.undecided,
        },
        { title: `Play ${found.number}: who owed what` },
      );
    },
  );
}
