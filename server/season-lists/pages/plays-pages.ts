import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { watchAddress, watchableGames } from '../../films/watchable.ts';
import { playKinds } from '../../football/play.ts';
import { downInWords, kindInWords, resultInWords } from '../../football/play-in-words.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { capital } from '../../web/format.ts';
import { pagesOf, pagingOf } from '../../web/paging.ts';
import { searchPatterns } from '../search-words.ts';
import { readSeasonSum } from '../stores/games-store.ts';
import { countPlays, listPlays, markedChoices, type PlayLine } from '../stores/plays-store.ts';
import { choices, listAddress, listTabs } from './list-head.ts';
import { playsQuery } from './list-query.ts';

const size = 25;
const any = { value: '', label: 'any' };

/** The coordinator's list of a season's plays. */
export async function playsPages(app: FastifyInstance): Promise<void> {
  const { database } = app;

  app.withTypeProvider<ZodTypeProvider>().get(
    '/seasons/:seasonId/plays',
    {
      config: { policy: policies.coordinator },
      schema: { hide: true, params: z.object({ seasonId: z.uuid() }), querystring: playsQuery },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      const { conferenceId } = session;
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      return app.reading(request, async ({ pool }) => {
        const { find, kind, week, marked, page = 1 } = request.query;
        const wanted = {
          patterns: searchPatterns(find),
          kind: kind ?? null,
          week: week ?? null,
          marked: marked ?? null,
        };
        const total = await countPlays(pool, conferenceId, season.id, wanted);
        const plays = await listPlays(pool, conferenceId, season.id, wanted, {
          limit: size,
          offset: (Math.min(page, pagesOf(total, size)) - 1) * size,
        });
        const watchable = await watchableGames(
          pool,
          session,
          plays.map(({ gameId }) => gameId),
        );
        const address = listAddress(season.id, 'plays');
        const { weeks } = await readSeasonSum(pool, conferenceId, season.id);
        const chosenWeek = week === undefined ? undefined : String(week);
        return reply.page(
          'season-lists/plays',
          {
            season,
            find,
            list: address,
            tabs: await listTabs(pool, conferenceId, season.id, 'plays', find),
            kinds: choices([any, ...playKinds.map((value) => ({ value, label: capital(value) }))], kind),
            weeks: choices(
              [any, ...weeks.map((one) => ({ value: String(one), label: String(one) }))],
              chosenWeek,
            ),
            marked: choices([any, ...markedChoices.map((value) => ({ value, label: value }))], marked),
            paging: pagingOf({ asked: page, total, size }, address, { find, kind, week: chosenWeek, marked }),
            plays: plays.map((play) => playView(play, watchable)),
          },
          { title: `Plays, ${season.name}`, width: 'wide' },
        );
      });
    },
  );
}

const playView = ({ play, ...line }: PlayLine, watchable: ReadonlySet<string>) => ({
  ...line,
  quarter: play.quarter,
  clock: play.clockSeconds,
  kind: kindInWords(play),
  down: downInWords(play),
  result: resultInWords(play),
  film: watchAddress(watchable, { ...line, playId: line.id }),
});
