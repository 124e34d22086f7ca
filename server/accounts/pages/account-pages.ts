import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { wantedWays } from '../../messages/kinds.ts';
import { keepWanted, readWanted } from '../../messages/wanted.ts';
import { errorsOf, type Form, type FormErrors, fieldErrors, formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { findLink, makeLink, useLink } from '../account-link.ts';
import { signInInput } from '../input.ts';
import { comingFrom } from '../known-device.ts';
import { nextAddress } from '../next-address.ts';
import { changePassword, deadLink, setPasswordByLink } from '../own-password.ts';
import { longestPassword, shortestPassword } from '../password.ts';
import { policies, sessionOf } from '../policy.ts';
import { rolesText } from '../roles.ts';
import { passSecondStep, readSecondFactor } from '../second-factor/second-factor-store.ts';
import { countOtherSessions, endSession, endSessionsOf, type Session } from '../session.ts';
import { clearSessionCookie, sessionToken } from '../session-cookie.ts';
import { checkCredentials } from '../sign-in.ts';
import { signInAs } from '../sign-in-as.ts';
import { wantedChoices } from '../wanted-choices.ts';
import { letIn, secondStepPage } from './second-step.ts';

const passwordHint = `At least ${shortestPassword} characters, at most ${longestPassword}; any kind. Four unrelated words do well.`;

const hidden = { schema: { hide: true } } as const;

/** Sign-in, the links that set a password, and one's own account. */
export async function accountPages(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  const { signInLimit } = app;

  const signInPage = (reply: FastifyReply, view: object) =>
    reply.page(
      'accounts/sign-in',
      { values: {}, errors: {}, ...view },
      { title: 'Sign in', width: 'narrow' },
    );

  app.get('/sign-in', { config: { policy: policies.open }, ...hidden }, async (request, reply) => {
    const next = nextAddress(textOf(formOf(request.query).next));
    if (request.session) return reply.redirect(next, 303);
    return signInPage(reply, { next });
  });

  app.post('/sign-in', { config: { policy: policies.open }, ...hidden }, async (request, reply) => {
    const form = formOf(request.body);
    const next = nextAddress(textOf(form.next));
    const again = { next, values: { email: form.email } };
    const input = signInInput.safeParse(form);
    if (!input.success) return signInPage(reply.code(400), { ...again, errors: errorsOf(input.error) });
    try {
      const matches = await checkCredentials(pool, signInLimit, {
        ...input.data,
        ...comingFrom(request),
      });
      if (matches.length === 1) return await letIn(request, reply, matches[0]!, next);
      const choices = [];
      for (const match of matches) choices.push({ ...match, ...(await makeLink(pool, match, 'sign-in')) });
      return reply.page('accounts/choose-conference', { choices, next }, { title: 'Which conference?' });
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      return signInPage(reply.code(error.status).headers(error.headers), {
        ...again,
        problem: error.message,
      });
    }
  });

  app.post(
    '/sign-in/conference',
    { config: { policy: policies.open }, ...hidden },
    async (request, reply) => {
      const form = formOf(request.body);
      const token = textOf(form.token);
      const chosen = await findLink(pool, token, ['sign-in']);
      if (!chosen || !(await useLink(pool, token))) {
        return signInPage(reply.code(410), {
          next: nextAddress(textOf(form.next)),
          problem: 'You took longer than five minutes; sign in once more.',
        });
      }
      return letIn(request, reply, chosen, nextAddress(textOf(form.next)));
    },
  );

  app.post(
    '/sign-in/second-step',
    { config: { policy: policies.open }, ...hidden },
    async (request, reply) => {
      const form = formOf(request.body);
      const token = textOf(form.token);
      const next = nextAddress(textOf(form.next));
      const who = await findLink(pool, token, ['second step']);
      const late = () =>
        signInPage(reply.code(410), {
          next,
          problem: 'You took longer than ten minutes; sign in once more.',
        });
      if (!who) return late();
      let inTime = true;
      try {
        await passSecondStep(
          pool,
          app.codeLimit,
          who,
          comingFrom(request),
          textOf(form.code),
          async (client) => {
            inTime = await useLink(client, token);
            if (!inTime) throw deadLink();
          },
        );
      } catch (error) {
        if (!(error instanceof Problem)) throw error;
        if (!inTime) return late();
        const wrong = error.errors.length > 0 ? { errors: fieldErrors(error) } : { problem: error.message };
        return secondStepPage(reply.code(error.status).headers(error.headers), { token, next, ...wrong });
      }
      await signInAs(request, reply, who);
      return reply.redirect(next, 303);
    },
  );

  app.post('/sign-out', { config: { policy: policies.open }, ...hidden }, async (request, reply) => {
    const token = sessionToken(request);
    if (token) await endSession(pool, token);
    clearSessionCookie(request, reply);
    return reply.redirect('/sign-in', 303);
  });

  for (const { path, purpose } of [
    { path: '/invitation/:token', purpose: 'invitation' },
    { path: '/new-password/:token', purpose: 'reset' },
  ] as const) {
    const answer = async (request: FastifyRequest, reply: FastifyReply, errors: FormErrors) => {
      const { token } = request.params as { token: string };
      const person = await findLink(pool, token, [purpose]);
      if (!person) throw deadLink();
      return reply.page(
        'accounts/set-password',
        { ...person, invitation: purpose === 'invitation', passwordHint, errors },
        { title: purpose === 'invitation' ? 'Your invitation' : 'New password', width: 'narrow' },
      );
    };
    app.get(path, { config: { policy: policies.open }, ...hidden }, (request, reply) =>
      answer(request, reply, {}),
    );
    app.post(path, { config: { policy: policies.open }, ...hidden }, async (request, reply) => {
      const { token } = request.params as { token: string };
      const form = formOf(request.body);
      const errors = differing(form, 'password');
      if (errors) return answer(request, reply.code(400), errors);
      try {
        const person = await setPasswordByLink(pool, token, textOf(form.password));
        return await letIn(request, reply, person, '/');
      } catch (error) {
        return answer(request, reply.code(400), fieldErrors(error));
      }
    });
  }

  const accountPage = async (request: FastifyRequest, reply: FastifyReply, view: object) => {
    const session = sessionOf(request);
    return reply.page(
      'accounts/my-account',
      {
        roles: rolesText(session.roles),
        coordinator: session.roles.has('coordinator'),
        mail: await mailView(session),
        secondFactor: await readSecondFactor(pool, session),
        zone: session.timeZone,
        otherSessions: await countOtherSessions(pool, session, sessionToken(request) ?? ''),
        passwordHint,
        errors: {},
        ...view,
      },
      { title: 'My account' },
    );
  };

  const mailView = async (session: Session) => {
    const found = await readWanted(pool, session);
    return {
      configured: app.settings.SMTP_URL !== undefined,
      choices: wantedChoices(found?.wanted ?? 'at once'),
      refusedAt: found?.refusedAt,
      zone: session.timeZone,
    };
  };

  app.post(
    '/my/account/mail',
    { config: { policy: policies.signedIn }, ...hidden },
    async (request, reply) => {
      const wanted = wantedWays.find((way) => way === textOf(formOf(request.body).wanted));
      if (!wanted)
        return accountPage(request, reply.code(400), { errors: { wanted: 'Choose one of the three.' } });
      await keepWanted(pool, sessionOf(request), wanted);
      app.outbox.wake();
      return reply.redirect('/my/account?done=mail', 303);
    },
  );

  app.get('/my/account', { config: { policy: policies.signedIn }, ...hidden }, (request, reply) =>
    accountPage(request, reply, { notice: done[textOf(formOf(request.query).done)] }),
  );

  app.post(
    '/my/account/password',
    { config: { policy: policies.signedIn }, ...hidden },
    async (request, reply) => {
      const form = formOf(request.body);
      const session = sessionOf(request);
      const errors = differing(form, 'newPassword');
      if (errors) return accountPage(request, reply.code(400), { errors });
      try {
        await changePassword(pool, signInLimit, session, comingFrom(request), {
          currentPassword: textOf(form.currentPassword),
          newPassword: textOf(form.newPassword),
        });
      } catch (error) {
        return accountPage(request, reply.code(400), { errors: fieldErrors(error) });
      }
      await signInAs(request, reply, session);
      return reply.redirect('/my/account?done=password', 303);
    },
  );

  app.post(
    '/my/account/other-sessions',
    { config: { policy: policies.signedIn }, ...hidden },
    async (request, reply) => {
      await endSessionsOf(pool, sessionOf(request), sessionToken(request));
      return reply.redirect('/my/account?done=others', 303);
    },
  );
}

const done: Record<string, string> = {
  password: 'Your password is changed, and every other device is signed out.',
  others: 'Signed out on every other device.',
  mail: 'Kept: that is how you are mailed from now on.',
};

function differing(form: Form, field: string): FormErrors | null {
  return textOf(form[field]) === textOf(form.repeated) ? null : { repeated: 'The two are not the same.' };
}
