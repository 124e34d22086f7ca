import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { backTo } from '../../accounts/next-address.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { publicAddress } from '../../mail/mailer.ts';
import { counted, ofSeasonInView } from '../../schedule/pages/elsewhere.ts';
import { exactText, typedText } from '../../text/typed-text.ts';
import { notFound, Problem } from '../../web/problem.ts';
import { findAnswerLink, newCalendarToken } from '../calendar/secret-addresses.ts';
import { loadAssignments, type OwnAssignment } from '../own-assignments.ts';
import { answerAssignment } from '../stores/assignment-store.ts';
import { loadProfile } from '../stores/profile-store.ts';

const id = z.uuid();
const text = (most: number) => typedText({ most }).default('');
/** Pages on which observers see and answer what they are asked to watch. */
export async function observerOwnPages(plain: FastifyInstance): Promise<void> {
  const app = plain.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;

  app.get(
    '/my/assignments',
    { config: { policy: policies.observer }, schema: { hide: true } },
    async (request, reply) => {
      return reply.page(
        'observers/own',
        { ...(await ownView(request)), calendar: null },
        { title: 'My assignments' },
      );
    },
  );

  async function ownView(request: FastifyRequest) {
    const { conferenceId, personId } = sessionOf(request);
    const { here: assignments, elsewhere } = ofSeasonInView(
      request,
      await loadAssignments(pool, conferenceId, personId),
      (others, closed) => {
        const offers = others.filter((one) => one.answer === 'offered').length;
        return `${counted(others.length, 'assignment')}${offers > 0 && !closed ? `, ${offers} waiting for your answer` : ''}`;
      },
    );
    // Nobody can go to a game that has kicked off.
    const missed = (one: OwnAssignment) =>
      one.answer === 'offered' && one.mode === 'in person' && one.kickoff.getTime() <= Date.now();
    return {
      offers: assignments.filter((one) => one.answer === 'offered' && !missed(one)),
      accepted: assignments.filter((one) => one.answer === 'accepted' && one.reportState === null),
      done: assignments.filter((one) => one.reportState !== null),
      closed: assignments.filter(
        (one) => (one.answer === 'declined' || missed(one)) && one.reportState === null,
      ),
      profile: await loadProfile(app.database, conferenceId, personId),
      elsewhere,
    };
  }

  const answerBody = z.object({
    answer: z.enum(['accepted', 'declined']),
    reason: text(500),
    next: text(200).optional(),
  });
  app.post(
    '/my/assignments/:assignmentId/answer',
    {
      config: { policy: policies.observer },
      schema: { hide: true, params: z.object({ assignmentId: id }), body: answerBody },
    },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      await answerAssignment(pool, {
        conferenceId,
        observerId: personId,
        assignmentId: request.params.assignmentId,
        ...request.body,
      });
      return reply.redirect(backTo(request.body, '/my/assignments'), 303);
    },
  );

  app.post(
    '/my/calendar',
    { config: { policy: policies.observer }, schema: { hide: true } },
    async (request, reply) => {
      const actor = sessionOf(request);
      const token = await newCalendarToken(pool, actor);
      return reply.page(
        'observers/own',
        {
          ...(await ownView(request)),
          calendar: `${publicAddress(app.settings)}/calendar/${token}.ics`,
        },
        { title: 'My assignments' },
      );
    },
  );

  // The link in an e-mail. Opening it answers nothing: mail scanners open links too.
  const link = z.object({ token: exactText({ least: 20, most: 100 }) });
  app.get(
    '/answer/:token',
    { config: { policy: policies.open }, schema: { hide: true, params: link } },
    async (request, reply) =>
      reply.page(
        'observers/answer',
        { assignment: await linked(request.params.token), token: request.params.token },
        { title: 'Your answer', width: 'narrow' },
      ),
  );
  app.post(
    '/answer/:token',
    { config: { policy: policies.open }, schema: { hide: true, params: link, body: answerBody } },
    async (request, reply) => {
      const found = await findAnswerLink(pool, request.params.token);
      if (!found) throw linkGone();
      await answerAssignment(pool, { ...found, ...request.body });
      return reply.redirect(`/answer/${request.params.token}`, 303);
    },
  );

  async function linked(token: string): Promise<OwnAssignment> {
    const found = await findAnswerLink(pool, token);
    if (!found) throw linkGone();
    const all = await loadAssignments(pool, found.conferenceId, found.observerId);
    const one = all.find((assignment) => assignment.id === found.assignmentId);
    if (!one) throw linkGone();
    return one;
  }
}

function linkGone(): Problem {
  const { title } = notFound('link');
  return new Problem(
    404,
    title,
    'This link has expired or was replaced. Sign in and answer under "My assignments", or ask the coordinator for a new one.',
  );
}
