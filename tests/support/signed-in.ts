import { once } from 'node:events';
import type { Server } from 'node:http';
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

const ready = new WeakMap<Server, Promise<unknown>>();

/**
 * The application's server, for supertest: it then need not listen and stop again for each request, which takes more than
 * the request. Not by `app.listen`, at which the server's own work begins. It stops with `app.close`.
 */
export async function listening({ server }: FastifyInstance): Promise<Server> {
  if (!server.listening) {
    if (!ready.has(server)) ready.set(server, once(server.listen(0, '127.0.0.1'), 'listening'));
    await ready.get(server);
  }
  return server;
}

/** Signs in as a person would and gives an agent that stays signed in. */
export async function signedInAgent(
  app: FastifyInstance,
  email: string,
  password: string,
): Promise<SignedInAgent> {
  const agent = supertest.agent(await listening(app));
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

/** Makes a person with these roles and `testPassword` in the conference, and an agent that they are signed in with. */
export async function personSignedIn(
  app: FastifyInstance,
  conferenceId: string,
  roles: Role[],
): Promise<TestPerson & { agent: SignedInAgent }> {
  testHash ??= hashPassword(testPassword);
  const person = await makePerson(app.database.pool, conferenceId, roles, { passwordHash: await testHash });
  return { ...person, agent: await inSessionOf(app, person) };
}

/** An agent of a person who is there already, without a password: hashing takes its time, and signing in has its own tests. */
export async function inSessionOf(
  app: FastifyInstance,
  person: { conferenceId: string; personId: string },
): Promise<SignedInAgent> {
  const { pool } = app.database;
  const token = await startSession(pool, person);
  const { csrfToken } = (await findSession(pool, token))!.session;
  // Keeps what it is given on the way, such as where the log was after a change.
  const agent = supertest.agent(await listening(app));
  const send = (method: 'get' | 'post' | 'put' | 'patch' | 'delete') => (url: string) =>
    agent[method](url).set('cookie', `crewmark_session=${token}`).set('x-csrf-token', csrfToken);
  return {
    csrfToken,
    get: send('get'),
    post: send('post'),
    put: send('put'),
    patch: send('patch'),
    delete: send('delete'),
  };
}
