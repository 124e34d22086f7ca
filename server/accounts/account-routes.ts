import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { exactText } from '../text/typed-text.ts';
import { conflict, Problem } from '../web/problem.ts';
import { findLink } from './account-link.ts';
import { linkToken, personChanges, personInput, signInInput, typedPassword } from './input.ts';
import { comingFrom } from './known-device.ts';
import { linkAddress } from './link-address.ts';
import { changePassword, requireFitting, setPasswordByLink } from './own-password.ts';
import { changePerson, findPerson, invitePerson, listPeople, makePasswordLink } from './people-store.ts';
import { policies, sessionOf } from './policy.ts';
import { roles } from './roles.ts';
import { hasSecondFactor, passSecondStep } from './second-factor/second-factor-store.ts';
import { endSession, type Session } from './session.ts';
import { clearSessionCookie, sessionToken } from './session-cookie.ts';
import { checkCredentials } from './sign-in.ts';
import { signInAs } from './sign-in-as.ts';

const person = z.object({
  id: z.uuid(),
  email: z.string(),
  givenName: z.string(),
  familyName: z.string(),
  roles: z.array(z.enum(roles)),
  team: z.object({ id: z.uuid(), name: z.string() }).nullable().describe('Of a team’s contact.'),
  state: z.enum(['active', 'invited', 'not invited', 'deactivated']),
  lastSeenAt: z.date().nullable(),
});
const passwordLink = z.object({
  purpose: z.enum(['invitation', 'reset']),
  url: z.url().describe('Shown this once; only its hash is kept.'),
  expiresAt: z.date(),
});
const me = z.object({
  conferenceId: z.uuid(),
  conferenceName: z.string(),
  personId: z.uuid(),
  email: z.string(),
  givenName: z.string(),
  familyName: z.string(),
  roles: z.array(z.enum(roles)),
  csrfToken: z.string().describe('Send it as the header x-csrf-token with every request but GET.'),
});
const code = exactText({ most: 100 })
  .optional()
  .describe('Of the second factor, where the person has one: six digits of the app, or a recovery code.');
const asMe = (session: Session) => ({ ...session, roles: [...session.roles] });
const personId = z.object({ personId: z.uuid() });

/** JSON beside the pages: the session, and the conference's people. */
export async function accountRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const { signInLimit, codeLimit } = app;

  routes.post(
    '/api/session',
    {
      config: { policy: policies.open, peopleOnly: true },
      schema: {
        tags: ['session'],
        summary: 'Sign in',
        body: signInInput.extend({
          conference: exactText({ most: 100 })
            .optional()
            .describe('Slug; needed when the sign-in fits several conferences.'),
          code,
        }),
        response: { 200: me },
      },
    },
    async (request, reply) => {
      const { email, password, conference } = request.body;
      const all = await checkCredentials(pool, signInLimit, { email, password, ...comingFrom(request) });
      const matches = conference ? all.filter((match) => match.conferenceSlug === conference) : all;
      if (matches.length !== 1) {
        const choices = all.map((match) => `${match.conferenceSlug} (${match.conferenceName})`).join(', ');
        throw conflict(`Send "conference" with the one to sign in to: ${choices}.`, [
          { field: 'conference', message: `one of: ${choices}` },
        ]);
      }
      await secondStep(request, matches[0]!, request.body.code);
      return asMe(await signInAs(request, reply, matches[0]!));
    },
  );

  /** @throws Problem 401 when the person has a second factor and no code was sent, 400 when it does not fit. */
  async function secondStep(
    request: FastifyRequest,
    who: { conferenceId: string; personId: string },
    code: string | undefined,
  ): Promise<void> {
    // A code that nobody asks for does no harm: the factor may have been reset since the program was written.
    if (!(await hasSecondFactor(pool, who))) return;
    if (code === undefined) {
      throw new Problem(401, 'One more step', 'Send "code" with the code of your authenticator app.', [
        { field: 'code', message: 'is needed: six digits of the app, or a recovery code' },
      ]);
    }
    await passSecondStep(pool, codeLimit, who, comingFrom(request), code);
  }

  routes.get(
    '/api/session',
    {
      compress: false, // holds the token against forged requests as it is
      config: { policy: policies.signedIn, beforeEnrolment: true, peopleOnly: true },
      schema: { tags: ['session'], summary: 'Who am I', response: { 200: me } },
    },
    async (request) => asMe(sessionOf(request)),
  );

  routes.delete(
    '/api/session',
    {
      config: { policy: policies.signedIn, beforeEnrolment: true, peopleOnly: true },
      schema: { tags: ['session'], summary: 'Sign out', response: { 204: z.null() } },
    },
    async (request, reply) => {
      await endSession(pool, sessionToken(request)!);
      clearSessionCookie(request, reply);
      return reply.code(204).send(null);
    },
  );

  routes.put(
    '/api/session/password',
    {
      config: { policy: policies.signedIn, peopleOnly: true },
      schema: {
        tags: ['session'],
        summary: 'Change my password; every other session ends',
        body: z.object({ currentPassword: typedPassword, newPassword: typedPassword }),
        response: { 200: me },
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      await changePassword(pool, signInLimit, session, comingFrom(request), request.body);
      return asMe(await signInAs(request, reply, session));
    },
  );

  routes.post(
    '/api/account-links/use',
    {
      config: { policy: policies.open, peopleOnly: true },
      schema: {
        tags: ['session'],
        summary: 'Set the password by an invitation or reset link, and sign in',
        body: z.object({ token: linkToken, password: typedPassword, code }),
        response: { 200: me },
      },
    },
    async (request, reply) => {
      const { token, password } = request.body;
      const linked = await findLink(pool, token, ['invitation', 'reset']);
      if (linked) {
        requireFitting(password, linked);
        await secondStep(request, linked, request.body.code);
      }
      const who = await setPasswordByLink(pool, token, password);
      return asMe(await signInAs(request, reply, who));
    },
  );

  routes.get(
    '/api/people',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags: ['people'],
        summary: 'Everybody of the conference',
        response: { 200: z.array(person) },
      },
    },
    async (request) => listPeople(pool, sessionOf(request).conferenceId),
  );

  routes.post(
    '/api/people',
    {
      config: { policy: policies.coordinator, peopleOnly: true },
      schema: {
        tags: ['people'],
        summary: 'Invite a person',
        body: personInput,
        response: { 201: z.object({ person, link: passwordLink }) },
      },
    },
    async (request, reply) => {
      const { person, token, expiresAt } = await invitePerson(pool, sessionOf(request), request.body);
      const url = linkAddress(request, 'invitation', token);
      return reply.code(201).send({ person, link: { purpose: 'invitation', url, expiresAt } });
    },
  );

  routes.get(
    '/api/people/:personId',
    {
      config: { policy: policies.coordinator },
      schema: { tags: ['people'], summary: 'One person', params: personId, response: { 200: person } },
    },
    async (request) => findPerson(pool, sessionOf(request).conferenceId, request.params.personId),
  );

  routes.patch(
    '/api/people/:personId',
    {
      config: { policy: policies.coordinator, peopleOnly: true },
      schema: {
        tags: ['people'],
        summary: 'Change details or roles, activate or deactivate',
        params: personId,
        body: personChanges,
        response: { 200: person },
      },
    },
    async (request) => changePerson(pool, sessionOf(request), request.params.personId, request.body),
  );

  routes.post(
    '/api/people/:personId/link',
    {
      config: { policy: policies.coordinator, peopleOnly: true },
      schema: {
        tags: ['people'],
        summary: 'Make the link by which the person sets a password; earlier ones stop working',
        params: personId,
        response: { 201: passwordLink },
      },
    },
    async (request, reply) => {
      const { purpose, token, expiresAt } = await makePasswordLink(
        pool,
        sessionOf(request),
        request.params.personId,
      );
      return reply.code(201).send({ purpose, url: linkAddress(request, purpose, token), expiresAt });
    },
  );
}
