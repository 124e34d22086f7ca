import cookie from '@fastify/cookie';
import fastifyPlugin from 'fastify-plugin';
import { removeOldLinks } from './account-link.ts';
import { requireFit, tokenBrought } from './api-token/bearer.ts';
import { actByToken } from './api-token/token-in-use.ts';
import { changesSomething, requireSameSite, requireToken } from './csrf.ts';
import { isDeviceOf, isKnownDevice, removeOldDevices } from './known-device.ts';
import { askedAbout, enforcePolicies, type RouteWithPolicy } from './policy.ts';
import type { Question } from './scope.ts';
import { personOfKey } from './second-factor/second-factor-store.ts';
import { findSession, findTokenSession, removeExpiredSessions, type Session } from './session.ts';
import { clearSessionCookie, sessionToken, setSessionCookie } from './session-cookie.ts';
import { ofCodes, removeOldAttempts, type SignInLimit, signInLimit } from './sign-in-limit.ts';

declare module 'fastify' {
  interface FastifyRequest {
    /** Who makes the request; null when signed out. */
    session: Session | null;
    /** What holds of the thing at the address, of what the route's policy asks. */
    holds: ReadonlySet<Question>;
  }
  interface FastifyInstance {
    /** Every route with its policy, in the order of registration. */
    routesWithPolicies: RouteWithPolicy[];
    /** Of passwords. */
    signInLimit: SignInLimit;
    /** Of the second step's codes, by person. */
    codeLimit: SignInLimit;
  }
}

const nothing: ReadonlySet<Question> = new Set();

/**
 * Sessions, protection against forged requests, and the policy of every route registered after it. Register it first
 * of all that has routes.
 */
export const accountsPlugin = fastifyPlugin(
  async (app) => {
    const { pool, asking } = app.database;
    await app.register(cookie);
    app.decorateRequest('session', null);
    app.decorateRequest('holds');

    app.addHook('onRequest', async (request, reply) => {
      request.holds = nothing;
      if (request.routeOptions.config?.nobodyAsked) return;
      const bearer = tokenBrought(request);
      if (bearer !== undefined) {
        const found = await findTokenSession(pool, bearer, askedAbout(request), asking);
        requireFit(request, found?.session);
        request.session = found!.session;
        request.holds = found!.holds;
        return;
      }
      const token = sessionToken(request);
      if (token === undefined) return;
      const found = await findSession(pool, token, askedAbout(request), asking);
      if (!found) return clearSessionCookie(request, reply);
      request.session = found.session;
      request.holds = found.holds;
      if (found.renewedUntil) setSessionCookie(request, reply, token, found.renewedUntil);
    });

    app.decorate(
      'signInLimit',
      signInLimit(pool, (email, token) => isKnownDevice(pool, email, token)),
    );

    app.decorate(
      'codeLimit',
      signInLimit(pool, (key, token) => isDeviceOf(pool, personOfKey(key), token), ofCodes),
    );

    const tidy = () =>
      Promise.all(
        [removeExpiredSessions, removeOldLinks, removeOldAttempts, removeOldDevices].map((remove) =>
          remove(pool),
        ),
      ).catch((error) => app.log.warn({ err: error }, 'expired sessions and links could not be cleared out'));
    const hourly = setInterval(tidy, 3600_000);
    hourly.unref();
    app.addHook('onReady', async () => void tidy());
    app.addHook('onClose', async () => clearInterval(hourly));

    app.decorate('routesWithPolicies', enforcePolicies(app));

    app.addHook('onRequest', async (request) => {
      if (changesSomething(request)) requireSameSite(request);
    });
    // After the body was read, which would lose it: from here on the trail knows by which token the request acts.
    app.addHook('preValidation', (request, reply, done) => {
      const token = request.session?.token;
      if (!token) return done();
      const end = actByToken(token, done);
      reply.raw.once('finish', end).once('close', end);
    });
    // After the body was read, before it is validated: a form brings its token as a field.
    app.addHook('preValidation', async (request) => {
      if (!changesSomething(request)) return;
      requireToken(request);
      const body = request.body as Record<string, unknown> | null | undefined;
      if (typeof body === 'object' && body !== null) delete body._csrf;
    });
  },
  { name: 'accounts' },
);
