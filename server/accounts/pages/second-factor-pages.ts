import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { renderSVG } from 'uqr';
import { fieldErrors, formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { comingFrom } from '../known-device.ts';
import { nextAddress } from '../next-address.ts';
import { enrolmentPage, policies, sessionOf } from '../policy.ts';
import { inGroups, keyAddress } from '../second-factor/one-time-code.ts';
import {
  beginSecondFactor,
  confirmSecondFactor,
  readSecondFactor,
  removeOwnSecondFactor,
  renewRecoveryCodes,
} from '../second-factor/second-factor-store.ts';
import { sessionToken } from '../session-cookie.ts';

const path = enrolmentPage;

/** Setting up one's own second factor, its recovery codes, and taking it away. */
export async function secondFactorPages(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  const limits = { password: app.signInLimit, code: app.codeLimit };
  const own = {
    config: { policy: policies.signedIn, beforeEnrolment: true },
    schema: { hide: true },
  } as const;

  const show = async (request: FastifyRequest, reply: FastifyReply, view: object = {}) => {
    const session = sessionOf(request);
    const found = await readSecondFactor(pool, session);
    const address =
      found &&
      keyAddress(found.secret, { issuer: `Crewmark ${session.conferenceName}`, account: session.email });
    return reply.page(
      'accounts/second-factor',
      {
        confirmed: found?.confirmedAt,
        codesLeft: found?.codesLeft,
        fewLeft: (found?.codesLeft ?? 0) < 3,
        begun: found && !found.confirmedAt,
        square: address && !found.confirmedAt && renderSVG(address, { ecc: 'M', border: 4 }),
        key: found && !found.confirmedAt && inGroups(found.secret),
        address,
        zone: session.timeZone,
        must: session.mustEnrol,
        next: nextAddress(textOf(formOf(request.method === 'GET' ? request.query : request.body).next)),
        errors: {},
        ...view,
      },
      { title: 'Second factor' },
    );
  };

  /** The page again with what is wrong beside its field, or above them. */
  const again = (request: FastifyRequest, reply: FastifyReply, error: unknown, where: string) => {
    if (!(error instanceof Problem)) throw error;
    reply.code(error.status).headers(error.headers);
    return error.errors.length > 0
      ? show(request, reply, { errors: { [where]: fieldErrors(error) } })
      : show(request, reply, { problem: error.message });
  };

  const codesPage = (reply: FastifyReply, codes: string[], view: { fresh: boolean; next: string }) =>
    reply.page(
      'accounts/recovery-codes',
      { codes, ...view },
      { title: 'Recovery codes', scripts: ['print'] },
    );

  const proofOf = (request: FastifyRequest) => {
    const form = formOf(request.body);
    return {
      from: comingFrom(request),
      sessionToken: sessionToken(request) ?? '',
      code: textOf(form.code),
      password: textOf(form.password),
    };
  };

  // Shows the secret while it is set up.
  app.get(path, { ...own, compress: false }, (request, reply) =>
    show(request, reply, { notice: done[textOf(formOf(request.query).done)] }),
  );

  app.post(`${path}/begin`, own, async (request, reply) => {
    await beginSecondFactor(pool, sessionOf(request));
    const next = nextAddress(textOf(formOf(request.body).next));
    return reply.redirect(next === '/' ? path : `${path}?next=${encodeURIComponent(next)}`, 303);
  });

  app.post(`${path}/confirm`, own, async (request, reply) => {
    try {
      const codes = await confirmSecondFactor(pool, limits, sessionOf(request), proofOf(request));
      const next = nextAddress(textOf(formOf(request.body).next));
      return codesPage(reply, codes, { fresh: true, next: next === '/' ? path : next });
    } catch (error) {
      return again(request, reply, error, 'confirm');
    }
  });

  app.post(`${path}/recovery-codes`, own, async (request, reply) => {
    try {
      const { from, code } = proofOf(request);
      const codes = await renewRecoveryCodes(pool, app.codeLimit, sessionOf(request), from, code);
      return codesPage(reply, codes, { fresh: false, next: path });
    } catch (error) {
      return again(request, reply, error, 'renew');
    }
  });

  app.post(`${path}/remove`, own, async (request, reply) => {
    try {
      await removeOwnSecondFactor(pool, limits, sessionOf(request), proofOf(request));
      return reply.redirect(`${path}?done=removed`, 303);
    } catch (error) {
      return again(request, reply, error, 'remove');
    }
  });
}

const done: Record<string, string> = {
  removed: 'Your second factor is gone, and you are signed out on every other device.',
};
