import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { typedText } from '../text/typed-text.ts';
import { numberOf } from '../web/whole-number.ts';
import { editionContentSchema, sourceSchema } from './edition.ts';
import { programAddress, tags } from './program-answer.ts';
import { listEditions, readEdition, releaseEdition } from './stores/edition-store.ts';
import { readProgram } from './stores/program-rows.ts';

export const editionAddress = programAddress.extend({ number: numberOf('number') });

const editionHead = {
  programId: z.uuid(),
  number: z.int(),
  note: z.string().describe('what was corrected since the edition before'),
  releasedBy: z.uuid().nullable(),
  releasedAt: z.string(),
};

/** Released editions of training programs as JSON; for the coordinator. */
export async function editionRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };

  routes.post(
    '/api/training-programs/:programId/editions',
    {
      config,
      schema: {
        tags,
        summary: 'Release a program as its next edition',
        description:
          'It keeps its facts as they are now, whatever the season does later. Refused while a reply to a mark on one of its plays waits for a ruling, while who is shown was not told (unless `untoldBecause` says why), objects or may still object, and where a text holds the name of an official, crew or team, unless `namesMeant`.',
        params: programAddress,
        body: z.object({
          version: numberOf('version').describe('of the program as you read it'),
          note: typedText({ most: 500 }).default(''),
          namesMeant: z.boolean().default(false),
          untoldBecause: typedText({ most: 500 })
            .default('')
            .describe('why those who are shown and were not told are not; kept in the history'),
        }),
        response: { 201: z.object({ number: z.int() }) },
      },
    },
    async (request, reply) => {
      const number = await releaseEdition(pool, sessionOf(request), request.params.programId, request.body);
      return reply.code(201).send({ number });
    },
  );

  routes.get(
    '/api/training-programs/:programId/editions',
    {
      config,
      schema: {
        tags,
        summary: 'Editions of a program, the newest first',
        params: programAddress,
        response: { 200: z.array(z.object(editionHead)) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      await readProgram(pool, conferenceId, request.params.programId);
      return listEditions(pool, conferenceId, request.params.programId);
    },
  );

  routes.get(
    '/api/training-programs/:programId/editions/:number',
    {
      config,
      schema: {
        tags,
        summary: 'An edition: what everybody is shown, and where its plays are from',
        description:
          '`content` names no official, crew, team or game; `sources` is for the coordinator alone.',
        params: editionAddress,
        response: {
          200: z.object({ ...editionHead, content: editionContentSchema, sources: z.array(sourceSchema) }),
        },
      },
    },
    async (request) => {
      const { programId, number } = request.params;
      const edition = await readEdition(pool, sessionOf(request).conferenceId, programId, number);
      return { ...edition, sources: [...edition.sources] };
    },
  );
}
