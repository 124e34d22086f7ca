import type { FastifyInstance } from 'fastify';
import supertest from 'supertest';
import { hashPassword } from '../../server/accounts/password.ts';
import type { Role } from '../../server/accounts/roles.ts';
import { findSession, startSession } from '../../server/accounts/session.ts';
import { makePerson, type TestPerson } from './people.ts';

/** Requests of one signed-in browser: the cookie is kept, and the CSRF token goes along with every request. */
export type SignedInAgent = {
  csrfToken: string;
  get(url: string): supertest.Test;
  post(url: string): supertest.Test;
  put(url: string): supertest.Test;
  patch(url: string): supertest.Test;
  delete(url: string): supertest.Test;
};

/** Signs in as a person would and gives an agent that stays signed in. */
export async function signedInAgent(
  app: FastifyInstance,
  email: string,
  password: string,
): Promise<SignedInAgent> {
  const agent = supertest.agent(app.server);
  const answer = await agent.post('/api/session').send({ email, password });
  if (answer.status !== 200) throw new Error(`Could not sign in as ${email}: ${answer.text}`);
  const csrfToken: string = answer.body.csrfToken;
  const withToken = (test: supertest.Test) => test.set('x-csrf-token', csrfToken);
  return {
    csrfToken,
    get: (url) => agent.get(url),
    post: (url) => withToken(agent.post(url)),
    put: (url) => withToken(agent.put(url)),
    patch: (url) => withToken(agent.patch(url)),
    delete: (url) => withToken(agent.delete(url)),
  };
}

export const testPassword = 'seven quiet whistles';
let testHash: Promise<string> | undefined;

/** Makes a person with these roles in the conference and signs them in. */
export async function personSignedIn(
  app: FastifyInstance,
  conferenceId: string,
  roles: Role[],
): Promise<TestPerson & { agent: SignedInAgent }> {
  testHash ??= hashPassword(testPassword);
  const person = await makePerson(app.database.pool, conferenceId, roles, { passwordHash: await testHash });
  return { ...person, agent: await signedInAgent(app, person.email, testPassword) };
}

/** Signs in a person who is there already, by giving them the test's password. */
export async function signedInAs(
  app: FastifyInstance,
  person: { conferenceId: string; personId: string },
): Promise<SignedInAgent> {
  testHash ??= hashPassword(testPassword);
  const { rows } = await app.database.pool.query<{ email: string }>(
    'UPDATE person SET password_hash = $3 WHERE conference_id = $1 AND id = $2 RETURNING email',
    [person.conferenceId, person.personId, await testHash],
  );
  return signedInAgent(app, rows[0]!.email, testPassword);
}

/** The same without a password, where signing in is not what the test is about: hashing takes its time. */
export async function inSessionOf(
  app: FastifyInstance,
  person: { conferenceId: string; personId: string },
): Promise<SignedInAgent> {
  const { pool } = app.database;
  const token = await startSession(pool, person);
  const { csrfToken } = (await findSession(pool, token))!.session;
  const send = (method: 'get' | 'post' | 'put' | 'patch' | 'delete') => (url: string) =>
    supertest(app.server)
      [method](url)
      .set('cookie', `crewmark_session=${token}`)
      .set('x-csrf-token', csrfToken);
  return {
    csrfToken,
    get: send('get'),
    post: send('post'),
    put: send('put'),
    patch: send('patch'),
    delete: send('delete'),
  };
}
