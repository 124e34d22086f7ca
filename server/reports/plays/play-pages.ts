import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { readPeople } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Role } from '../../accounts/roles.ts';
import { watchableGames } from '../../films/watchable.ts';
import { loggedFacts, playInWords } from '../../football/play-in-words.ts';
import { positions } from '../../football/positions.ts';
import { readGameHead } from '../../games/game-head.ts';
import { groupsOf } from '../../grading/group-by.ts';
import { hasRubric } from '../../rubric/read-rubric.ts';
import { markView } from '../pages/mark-view.ts';
import { type MarkLine, releasedMarksAbout } from '../review/mark-lines.ts';
import { anchorOf, drawingView } from './drawing-view.ts';
import { contradictionsView, gameContradictions } from './play-contradictions.ts';
import { readPlayDuties } from './play-duties.ts';
import { readGameTitle, readPlayList } from './play-list.ts';

const ofGame = z.object({ gameId: z.uuid() });
const ofPlay = ofGame.extend({ playId: z.uuid() });

/** Notes in the play log are the observers' and the coordinator's, not for those observed. */
const mayReadNotes = (roles: ReadonlySet<Role>) => roles.has('coordinator') || roles.has('observer');

/** A game's play log, and for any play of it: who owed what, and why. */
export async function playPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;

  pages.get(
    '/games/:gameId/plays',
    { config: { policy: policies.playsOfGame }, schema: { hide: true, params: ofGame } },
    async (request, reply) => {
      const { conferenceId, roles } = sessionOf(request);
      const { gameId } = request.params;
      const game = await readGameTitle(database.pool, conferenceId, gameId);
      const plays = await readPlayList(database.pool, conferenceId, gameId);
      const watchable = await watchableGames(database.pool, sessionOf(request), [gameId]);
      return reply.page(
        'reports/plays/plays',
        {
          game,
          contradictions: contradictionsView(
            await gameContradictions(database.pool, conferenceId, game),
            gameId,
            roles.has('coordinator'),
          ),
          mayReadNotes: mayReadNotes(roles),
          // Whoever reads notes works on the log: coordinator, and observers of the game.
          mayBringLog: mayReadNotes(roles),
          mayBringFilm: roles.has('coordinator'),
          canWatch: watchable.has(gameId),
          any: plays.length > 0,
          quarters: groupsOf(plays, ({ play }) => quarterInWords(play.quarter)).map((own, at) => ({
            quarter: quarterInWords(own[0]!.play.quarter),
            open: at === 0,
            plays: own.map((one) => ({
              ...one,
              note: mayReadNotes(roles) ? one.note : '',
              inWords: playInWords(one.play),
              facts: loggedFacts(one.play).length,
            })),
          })),
        },
        { title: `Plays: ${game.title}` },
      );
    },
  );

  pages.get(
    '/games/:gameId/plays/:playId/duties',
    {
      config: { policy: policies.playsOfGame },
      schema: { hide: true, params: ofPlay, querystring: z.object({ official: z.uuid().optional() }) },
    },
    async (request, reply) => {
      const { conferenceId, personId, roles } = sessionOf(request);
      const { gameId, playId } = request.params;
      const { seasonId } = await readGameHead(database.pool, conferenceId, gameId);
      if (!(await hasRubric(database, conferenceId, seasonId))) {
        return reply.redirect(`/seasons/${seasonId}/rubric/start`, 303);
      }
      const found = await readPlayDuties(database, conferenceId, gameId, playId);
      const game = await readGameTitle(database.pool, conferenceId, gameId);
      const people = await readPeople(database, conferenceId);
      const plays = await readPlayList(database.pool, conferenceId, gameId);
      const contradictions = (await gameContradictions(database.pool, conferenceId, game)).filter(
        (one) => one.playId === playId,
      );
      const here = plays.findIndex((play) => play.id === playId);
      const mine = found.members.find((member) => member.personId === personId)?.position;
      // The coordinator comes here from any official's page; an official, from their own.
      const about = roles.has('coordinator') ? request.query.official : mine && personId;
      const marks = about
        ? (await releasedMarksAbout(database.pool, conferenceId, about)).filter(
            (mark) => mark.playId === playId,
          )
        : [];
      const inOrder = positions.filter((position) => found.crew.present.includes(position));
      return reply.page(
        'reports/plays/play',
        {
          game,
          number: found.number,
          note: mayReadNotes(roles) ? found.note : '',
          seasonId: found.seasonId,
          rubricNumber: found.rubricNumber,
          isCounted: found.isCounted,
          mayCorrect: roles.has('coordinator'),
          ownMarks: mine !== undefined,
          playId,
          about: about && {
            official: people.get(about),
            isReader: about === personId,
            page: roles.has('coordinator') ? `/seasons/${seasonId}/officials/${about}` : '/my/evaluation',
            noted: notedOn(marks),
          },
          contradictions: contradictionsView(contradictions, gameId, true),
          contradictionsLink: roles.has('coordinator') && `/games/${gameId}/plays/${playId}`,
          inWords: playInWords(found.play),
          facts: loggedFacts(found.play).map((one) =>
            one.fact === 'offense' && found.teams ? { ...one, value: found.teams.offense } : one,
          ),
          film: found.film,
          watch: (await watchableGames(database.pool, sessionOf(request), [gameId])).has(gameId)
            ? `/games/${gameId}/plays/${playId}/film`
            : null,
          filmSeconds: found.filmSeconds,
          drawing: drawingView(found),
          before: plays[here - 1],
          after: plays[here + 1],
          // Officials find their own part first.
          officials: [...inOrder.filter((one) => one === mine), ...inOrder.filter((one) => one !== mine)].map(
            (position) => {
              const member = found.members.find((one) => one.position === position);
              return {
                position,
                isMine: position === mine,
                anchor: anchorOf(position),
                official: member === undefined ? null : people.get(member.personId),
                owed: found.owed
                  .filter((one) => one.position === position)
                  .map((one) => ({
                    ...one,
                    why: one.why.map((reason) => ({ ...reason, isUnless: reason.part === 'unless' })),
                  })),
              };
            },
          ),
          owedCount: found.owed.length,
          undecided: found.undecided,
        },
        { title: `Play ${found.number}: who owed what` },
      );
    },
  );
}

const quarterInWords = (quarter: number | null | undefined): string =>
  quarter == null ? 'Quarter not logged' : quarter > 4 ? 'Overtime' : `Quarter ${quarter}`;

/** What observers noted of an official on a play: each duty once, with what each of them found and wrote. */
function notedOn(marks: readonly MarkLine[]) {
  return groupsOf(marks, ({ dutyKey }) => dutyKey).map((own) => ({
    duty: own[0]!.duty,
    dutyKey: own[0]!.dutyKey,
    observers: own.length > 1 ? own.length : undefined,
    marks: own.map((mark) => {
      const { said, tone, notCounted, comment, removed, replyId, reply, ruling } = markView(mark);
      return { said, tone, notCounted, comment, removed, replyId, reply, ruling };
    }),
  }));
}
