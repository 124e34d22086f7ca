import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { fullName, readPeople } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { positions } from '../../football/positions.ts';
import { observerSeverityWords } from '../../results/standings/severity-words.ts';
import { percent, signed } from '../../web/format.ts';
import { notFound } from '../../web/problem.ts';
import { observersOverSeasons } from '../observers-over-seasons.ts';
import { officialOverSeasons, staffDutiesOverSeasons } from '../official-over-seasons.ts';
import { positionOverSeasonsView } from './official-history-view.ts';

const tabs = [
  { path: 'duties', label: 'Duties' },
  { path: 'observers', label: 'Observers' },
];
const tabsAt = (here: string) => tabs.map((tab) => ({ ...tab, here: tab.path === here }));

/** What becomes of officials, duties and observers from season to season. */
export async function historyPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const coordinator = { policy: policies.coordinator };

  async function official(request: FastifyRequest, reply: FastifyReply, personId: string, isOwn: boolean) {
    const { conferenceId } = sessionOf(request);
    const { person, history } = await app.reading(request, async (from) => ({
      person: (await readPeople(from, conferenceId)).get(personId),
      history: await officialOverSeasons(from, conferenceId, personId),
    }));
    if (!person) throw notFound('official');
    return reply.page(
      'history/official',
      {
        ownPage: isOwn,
        official: person,
        seasons: history.seasons,
        positions: history.positions.map((one) => positionOverSeasonsView(one, history.seasons, !isOwn)),
      },
      { title: isOwn ? 'My seasons' : `Seasons of ${fullName(person)}`, width: 'wide' },
    );
  }

  pages.get(
    '/over-seasons/officials/:personId',
    { config: coordinator, schema: { hide: true, params: z.object({ personId: z.uuid() }) } },
    (request, reply) => official(request, reply, request.params.personId, false),
  );

  pages.get(
    '/my/evaluation/seasons',
    { config: { policy: policies.official }, schema: { hide: true } },
    (request, reply) => official(request, reply, sessionOf(request).personId, true),
  );

  pages.get('/over-seasons', { config: coordinator, schema: { hide: true } }, (_request, reply) =>
    reply.redirect('/over-seasons/duties'),
  );

  pages.get(
    '/over-seasons/duties',
    {
      config: coordinator,
      schema: { hide: true, querystring: z.object({ position: z.enum(positions).default('referee') }) },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const { position } = request.query;
      const { seasons, duties } = await app.reading(request, ({ pool }) =>
        staffDutiesOverSeasons(pool, conferenceId, position),
      );
      return reply.page(
        'history/duties',
        {
          tabs: tabsAt('duties'),
          position,
          positions: positions.map((name) => ({ name, here: name === position })),
          seasons,
          duties: duties.map((duty) => ({
            ...duty,
            seasons: duty.seasons.map((cell, at) => ({
              season: seasons[at]!.name,
              cell: cell && { ...cell, rate: percent(cell.misses / cell.opportunities) },
            })),
          })),
        },
        { title: `Duties over the seasons, ${position}`, width: 'wide' },
      );
    },
  );

  pages.get(
    '/over-seasons/observers',
    { config: coordinator, schema: { hide: true } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const { people, history } = await app.reading(request, async (from) => ({
        people: await readPeople(from, conferenceId),
        history: await observersOverSeasons(from, conferenceId),
      }));
      const { seasons, observers, once } = history;
      return reply.page(
        'history/observers',
        {
          tabs: tabsAt('observers'),
          seasons,
          once,
          observers: observers
            .map((row) => ({
              person: people.get(row.observerId),
              seasons: row.seasons.map((severity, at) => ({
                season: seasons[at]!.name,
                severity: severity && {
                  games: severity.games,
                  words: observerSeverityWords(severity),
                  ...(severity.effect !== null && {
                    points: signed(severity.effect, 2),
                    interval: `${signed(severity.low, 2)} to ${signed(severity.high, 2)}`,
                  }),
                },
              })),
            }))
            .sort((one, other) =>
              `${one.person?.familyName} ${one.person?.givenName}`.localeCompare(
                `${other.person?.familyName} ${other.person?.givenName}`,
              ),
            ),
        },
        { title: 'Observers over the seasons', width: 'wide' },
      );
    },
  );
}
