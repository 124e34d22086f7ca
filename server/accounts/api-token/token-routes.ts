import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../policy.ts';
import { staffRoles } from '../roles.ts';
import { tokenInput } from './token-input.ts';
import { listTokens, makeToken, revokeToken } from './token-store.ts';

const apiToken = z.object({
  id: z.uuid(),
  name: z.string(),
  role: z.enum(staffRoles),
  readOnly: z.boolean(),
  madeBy: z.string(),
  createdAt: z.date(),
  expiresAt: z.date(),
  lastUsedAt: z.date().nullable().describe('To the hour.'),
  state: z.enum(['works', 'expired', 'revoked', 'its maker lost the role']),
});

/** Tokens for programs. No token makes, lists or revokes another. */
export async function tokenRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator, peopleOnly: true } as const;
  const tags = ['tokens'];

  routes.get(
    '/api/tokens',
    {
      config,
      schema: { tags, summary: 'The conference’s tokens for programs', response: { 200: z.array(apiToken) } },
    },
    async (request) => listTokens(pool, sessionOf(request).conferenceId),
  );

  routes.post(
    '/api/tokens',
    {
      config,
      schema: {
        tags,
        summary: 'Make a token for a program',
        body: tokenInput,
        response: {
          201: apiToken.extend({
            token: z
              .string()
              .describe('Shown this once; only its hash is kept. Send it as Authorization: Bearer.'),
          }),
        },
      },
    },
    async (request, reply) => {
      const { token, kept } = await makeToken(pool, sessionOf(request), request.body);
      return reply.code(201).send({ ...kept, token });
    },
  );

  routes.delete(
    '/api/tokens/:tokenId',
    {
      config,
      schema: {
        tags,
        summary: 'Revoke a token: it stops working at once',
        params: z.object({ tokenId: z.uuid() }),
        response: { 204: z.null() },
      },
    },
    async (request, reply) => {
      await revokeToken(pool, sessionOf(request), request.params.tokenId);
      return reply.code(204).send(null);
    },
  );
}
