import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { readWeeks } from '../../schedule/season-weeks.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { formOf, listOf, textOf } from '../../web/form.ts';
import { answerAvailability, readAvailability } from '../availability-store.ts';

const weekNumber = z.coerce.number().int().min(0).max(30);

/** When people are away in a season: they say so on their own page, the coordinator sees who has answered. */
export async function seasonAvailabilityPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const params = z.object({ seasonId: z.uuid() });
  const own = { config: { policy: policies.staff } };

  pages.get('/my/seasons', { ...own, schema: { hide: true } }, async (request, reply) => {
    const { conferenceId, personId } = sessionOf(request);
    const asked = await readAvailability(pool, conferenceId, { personId });
    const seasons = await Promise.all(
      asked.map(async (one) => {
        const weeks = await readWeeks(pool, conferenceId, one.seasonId);
        return {
          ...one,
          weeks: weeks.map((week) => ({ ...week, away: one.weeksAway.includes(week.number) })),
        };
      }),
    );
    return reply.page('setup/my-seasons', { seasons }, { title: 'When I am away', width: 'narrow' });
  });

  pages.post(
    '/my/seasons/:seasonId/availability',
    { ...own, schema: { hide: true, params } },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const form = formOf(request.body);
      const weeksAway = listOf(form.away).flatMap((week) => weekNumber.safeParse(week).data ?? []);
      const note = textOf(form.note).trim().slice(0, 500);
      await inTransaction(pool, (client) =>
        answerAvailability(client, { conferenceId, personId }, request.params.seasonId, { weeksAway, note }),
      );
      return reply.redirect('/my/seasons', 303);
    },
  );

  pages.get(
    '/seasons/:seasonId/availability',
    { config: { policy: policies.coordinator }, schema: { hide: true, params } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const people = await readAvailability(pool, conferenceId, { seasonId: season.id });
      return reply.page(
        'setup/availability',
        {
          season,
          people: people.map((one) => ({
            ...one,
            words: one.roles.join(', '),
            weeks: one.weeksAway.join(', '),
          })),
          waiting: people.filter((one) => one.answeredAt === null).length,
        },
        { title: `Availability in ${season.name}` },
      );
    },
  );
}
