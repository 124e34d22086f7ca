import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { editionAddress } from '../programs/edition-routes.ts';
import { tags } from '../programs/program-answer.ts';
import { ruleSchema, sessionSchema } from './attendance-input.ts';
import { addViewers, isOpen, readAttendance, remindViewers } from './stores/attendance-store.ts';
import { keepRule, readRule, showNames } from './stores/rule-store.ts';
import { holdSession, listSessions, tickAttended } from './stores/session-store.ts';

const people = z.array(z.uuid()).max(2000);
const personSchema = z.object({
  personId: z.uuid(),
  name: z.string(),
  because: z.string(),
  state: z.enum(['watched', 'there', 'earlier', 'begun', 'not begun']),
  share: z.number(),
  questions: z.int(),
  answered: z.int(),
  isOpen: z.boolean().describe('has not watched'),
  remindedAt: z.string().nullable(),
});

/** Who is to watch an edition and who has, as JSON; for the coordinator. */
export async function attendanceRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  const at = '/api/training-programs/:programId/editions/:number';
  const params = editionAddress;

  routes.get(
    `${at}/attendance`,
    {
      config,
      schema: {
        tags,
        summary: 'Who is to watch an edition, and how far they are',
        params,
        response: {
          200: z.object({
            dueOn: z.string().nullable(),
            namesShown: z.boolean(),
            people: z.array(personSchema),
            came: z
              .array(z.object({ personId: z.uuid(), name: z.string() }))
              .describe('who belongs to the audience by now and came after the release'),
          }),
        },
      },
    },
    async (request) => {
      const { programId, number } = request.params;
      const { dueOn, audience, came, ...read } = await readAttendance(
        pool,
        sessionOf(request).conferenceId,
        programId,
        number,
      );
      return {
        dueOn,
        namesShown: audience.namesShown,
        came: [...came],
        people: read.people.map((one) => ({
          ...one,
          ...one.standing,
          isOpen: isOpen(one),
          remindedAt: one.remindedAt?.toISOString() ?? null,
        })),
      };
    },
  );

  routes.post(
    `${at}/audience`,
    {
      config,
      schema: {
        tags,
        summary: 'Add people to an edition’s audience',
        description: 'They are told. Who is there already is left as they are.',
        params,
        body: z.object({ personIds: people }),
        response: { 200: z.object({ added: z.int() }) },
      },
    },
    async (request) => {
      const { programId, number } = request.params;
      return { added: await addViewers(pool, sessionOf(request), programId, number, request.body.personIds) };
    },
  );

  routes.post(
    `${at}/reminders`,
    {
      config,
      schema: {
        tags,
        summary: 'Remind who has not watched',
        description: 'Each once a day (UTC) at most.',
        params,
        body: z.object({ personIds: people.optional().describe('left out: all who have not') }),
        response: { 200: z.object({ reminded: z.int() }) },
      },
    },
    async (request) => {
      const { programId, number } = request.params;
      const whom = request.body.personIds ?? 'all';
      return { reminded: await remindViewers(pool, sessionOf(request), programId, number, whom) };
    },
  );

  routes.put(
    `${at}/names`,
    {
      config,
      schema: {
        tags,
        summary: 'Show an edition’s audience who is in its plays, or no longer',
        params,
        body: z.object({
          shown: z.boolean(),
          confirmedTwice: z.boolean().default(false).describe('needed before everybody is shown names'),
        }),
        response: { 204: z.null() },
      },
    },
    async (request, reply) => {
      const { programId, number } = request.params;
      const { shown, confirmedTwice } = request.body;
      await showNames(pool, sessionOf(request), programId, number, { shown, confirmed: confirmedTwice });
      return reply.code(204).send(null);
    },
  );

  routes.get(
    `${at}/sessions`,
    {
      config,
      schema: {
        tags,
        summary: 'Sessions at which an edition was shown',
        params,
        response: { 200: z.array(sessionSchema.extend({ id: z.uuid(), attended: z.array(z.uuid()) })) },
      },
    },
    async (request) => {
      const { programId, number } = request.params;
      const sessions = await listSessions(pool, sessionOf(request).conferenceId, programId, number);
      return sessions.map((one) => ({ ...one, attended: [...one.attended] }));
    },
  );

  routes.post(
    `${at}/sessions`,
    {
      config,
      schema: {
        tags,
        summary: 'Hold a session',
        params,
        body: sessionSchema,
        response: { 201: z.object({ id: z.uuid() }) },
      },
    },
    async (request, reply) => {
      const { programId, number } = request.params;
      const id = await holdSession(pool, sessionOf(request), programId, number, request.body);
      return reply.code(201).send({ id });
    },
  );

  routes.put(
    `${at}/sessions/:sessionId/attended`,
    {
      config,
      schema: {
        tags,
        summary: 'Say who was at a session: these, and nobody else',
        params: params.extend({ sessionId: z.uuid() }),
        body: z.object({ personIds: people }),
        response: { 204: z.null() },
      },
    },
    async (request, reply) => {
      const { programId, number, sessionId } = request.params;
      await tickAttended(pool, sessionOf(request), programId, number, sessionId, request.body.personIds);
      return reply.code(204).send(null);
    },
  );

  routes.get(
    '/api/training-programs/:programId/watching-rule',
    {
      config,
      schema: {
        tags,
        summary: 'What counts as watched',
        params: params.pick({ programId: true }),
        response: { 200: ruleSchema },
      },
    },
    async (request) => readRule(pool, sessionOf(request).conferenceId, request.params.programId),
  );

  routes.put(
    '/api/training-programs/:programId/watching-rule',
    {
      config,
      schema: {
        tags,
        summary: 'Change what counts as watched',
        description: 'What is done stays done.',
        params: params.pick({ programId: true }),
        body: ruleSchema,
        response: { 200: ruleSchema },
      },
    },
    async (request) => {
      await keepRule(pool, sessionOf(request), request.params.programId, request.body);
      return request.body;
    },
  );
}
