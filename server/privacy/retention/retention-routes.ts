import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { digestOf, dueNow } from './due.ts';
import { retentionKinds, retentionSchema } from './kinds.ts';
import { keepRetention, readRetention } from './setting-store.ts';
import { takeAwayDue } from './take-away.ts';

const dueSchema = z.object({
  kind: z.enum(retentionKinds),
  season: z.object({ id: z.uuid(), name: z.string() }).nullable(),
  person: z
    .object({ id: z.uuid(), name: z.string(), email: z.string(), lastSeason: z.string().nullable() })
    .nullable()
    .describe('Who is erased, for the kind people.'),
  counts: z.record(z.string(), z.number().int()),
});

/** For how many years what is kept, what would go today, and taking it away. */
export async function retentionRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  // What is taken away is gone: no program does it in somebody's place.
  const byPeople = { ...config, peopleOnly: true } as const;
  const tags = ['retention'];

  routes.get(
    '/api/retention',
    {
      config,
      schema: {
        tags,
        summary: 'For how many years what is kept; null is for good',
        response: { 200: retentionSchema },
      },
    },
    (request) => readRetention(pool, sessionOf(request).conferenceId),
  );

  routes.put(
    '/api/retention',
    {
      config: byPeople,
      schema: {
        tags,
        summary: 'Set it; nothing is taken away before the next night, and only with `nightly`',
        body: retentionSchema,
        response: { 200: retentionSchema },
      },
    },
    async (request) => {
      await inTransaction(pool, (client) => keepRetention(client, sessionOf(request), request.body));
      return request.body;
    },
  );

  routes.get(
    '/api/retention/due',
    {
      config,
      schema: {
        tags,
        summary: 'A dry run: what would go today, by kind and season, and who would be erased',
        response: {
          200: z.object({
            seen: z.string().describe('Sent back to take exactly this away.'),
            due: z.array(dueSchema),
          }),
        },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const due = await dueNow(pool, conferenceId, await readRetention(pool, conferenceId));
      return { seen: digestOf(due), due };
    },
  );

  routes.post(
    '/api/retention/runs',
    {
      config: byPeople,
      schema: {
        tags,
        summary: 'Take away what is due, for good',
        description:
          '409 when something else is due than in the dry run that `seen` is of; nothing goes then.',
        body: z.strictObject({
          seen: z
            .string('seen must be the digest that GET /api/retention/due gave')
            .max(100, 'seen must be the digest that GET /api/retention/due gave'),
        }),
        response: { 200: z.object({ taken: z.array(dueSchema) }) },
      },
    },
    async (request) => ({
      taken: await takeAwayDue(pool, sessionOf(request), 'by hand', request.body.seen),
    }),
  );
}
