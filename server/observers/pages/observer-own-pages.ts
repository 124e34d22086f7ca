import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { backTo } from '../../accounts/next-address.ts';
import { type Policy, policies, sessionOf } from '../../accounts/policy.ts';
import { publicAddress } from '../../mail/mailer.ts';
import { conflictKinds } from '../../planning/planning-problem.ts';
import { counted, ofSeasonInView } from '../../schedule/pages/elsewhere.ts';
import { seasonInView } from '../../schedule/seasons.ts';
import { exactText, typedDay, typedText } from '../../text/typed-text.ts';
import { type FieldProblem, notFound, Problem } from '../../web/problem.ts';
import { findAnswerLink, newCalendarToken } from '../calendar/secret-addresses.ts';
import { loadAssignments, type OwnAssignment } from '../own-assignments.ts';
import { answerAssignment } from '../stores/assignment-store.ts';
import {
  addAbsence,
  addConflict,
  conflictParties,
  loadProfile,
  removeDeclaration,
  saveProfile,
} from '../stores/profile-store.ts';
import { loadObservers } from '../stores/season-store.ts';

const id = z.uuid();
const text = (most: number) => typedText({ most }).default('');
const emptyIsNull = (value: unknown) => (value === '' || value === undefined ? null : value);
const whole = (least: number, most: number) =>
  z.preprocess(emptyIsNull, z.coerce.number().int('must be a whole number').min(least).max(most).nullable());
const decimal = (least: number, most: number) =>
  z.preprocess(emptyIsNull, z.coerce.number('must be a number').min(least).max(most).nullable());
const ticked = z.preprocess((value) => value === 'on', z.boolean());

const profileForm = z
  .object({
    homePlace: text(200),
    latitude: decimal(-90, 90),
    longitude: decimal(-180, 180),
    watchesInPerson: ticked,
    watchesFilm: ticked,
    weeklyLimit: whole(0, 50),
    seasonLimit: whole(0, 500),
    travelLimitMiles: decimal(0, 13_000),
  })
  .superRefine((form, context) => {
    if (!form.watchesInPerson && !form.watchesFilm)
      context.addIssue({
        code: 'custom',
        path: ['watchesFilm'],
        message: 'tick at least one way of watching',
      });
    if ((form.latitude === null) !== (form.longitude === null))
      context.addIssue({
        code: 'custom',
        path: [form.latitude === null ? 'latitude' : 'longitude'],
        message: 'give both latitude and longitude, or neither',
      });
  });
const day = typedDay('write the day as YYYY-MM-DD');
const absenceForm = z
  .object({ from: day, to: day, of: z.enum(['in person', 'all work']), note: text(500) })
  .refine((form) => form.to >= form.from, { path: ['to'], message: 'is before the first day' });
const notChosen = 'choose a team, a crew or an official';
const conflictForm = z.object({
  kind: z.enum(conflictKinds),
  party: z
    .string()
    .transform((chosen) => {
      const [kind, id] = chosen.split(':');
      return { kind, id };
    })
    .pipe(z.object({ kind: z.enum(['team', 'official', 'crew'], notChosen), id: z.uuid(notChosen) })),
  note: text(500),
});

/** Pages on which observers answer and say when and whom they can watch, and the coordinator the same for all. */
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

  app.get(
    '/observers/people',
    { config: { policy: policies.coordinator }, schema: { hide: true } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const observers = await loadObservers(pool, conferenceId);
      return reply.page(
        'observers/people',
        {
          observers: observers.map((observer) => ({
            ...observer,
            ways: observer.modes.join(' and '),
            located: observer.home !== null,
            absenceCount: observer.absences.length,
            conflictCount: observer.conflicts.length,
          })),
        },
        { title: 'Observers', width: 'wide' },
      );
    },
  );

  profilePages('/my/availability', policies.observer, (request) => sessionOf(request).personId);
  profilePages(
    '/observers/people/:personId',
    policies.coordinator,
    (request) => (request.params as { personId: string }).personId,
  );

  /** The same forms at two addresses: an observer's own, and any observer's for the coordinator. */
  function profilePages(address: string, policy: Policy, whose: (request: FastifyRequest) => string) {
    const config = { policy };
    const isOwn = address.startsWith('/my/');
    const schema = { hide: true, ...(isOwn ? {} : { params: z.object({ personId: id }) }) };
    const here = (request: FastifyRequest) => address.replace(':personId', whose(request));

    app.get(address, { config, schema }, (request, reply) => show(request, reply, {}));

    async function show(
      request: FastifyRequest,
      reply: FastifyReply,
      wrong: { form?: string; values?: object; errors?: FieldProblem[] },
    ) {
      const { conferenceId } = sessionOf(request);
      const personId = whose(request);
      const season = await seasonInView(app.database, request);
      const profile = await loadProfile(app.database, conferenceId, personId);
      const message = (form: string) =>
        wrong.form === form
          ? Object.fromEntries((wrong.errors ?? []).map((error) => [error.field, error.message]))
          : {};
      return reply.code(wrong.errors ? 400 : 200).page(
        'observers/profile',
        {
          profile: wrong.form === 'profile' ? { ...profile, ...wrong.values } : profile,
          parties: season
            ? await conflictParties(app.database, conferenceId, season.id)
            : { teams: [], crews: [], officials: [] },
          conflictKinds,
          absence: wrong.form === 'absence' ? wrong.values : {},
          wrong: { profile: message('profile'), absence: message('absence'), conflict: message('conflict') },
          here: here(request),
          isOwn,
        },
        { title: isOwn ? 'My availability' : profile.name },
      );
    }

    /** Checks a form here, so that what is wrong stands beside its field and what was typed is kept. */
    function formRoute<T extends z.ZodType>(
      part: string,
      form: T,
      name: string,
      save: (request: FastifyRequest, personId: string, values: z.output<T>) => Promise<void>,
    ) {
      app.post(`${address}${part}`, { config, schema }, async (request, reply) => {
        const parsed = form.safeParse(request.body ?? {});
        if (!parsed.success)
          return show(request, reply, {
            form: name,
            values: request.body as object,
            errors: parsed.error.issues.map((issue) => ({
              field: issue.path.join('.'),
              message: issue.message,
            })),
          });
        await save(request, whose(request), parsed.data);
        return reply.redirect(here(request), 303);
      });
    }
    formRoute('', profileForm, 'profile', (request, personId, values) =>
      saveProfile(pool, sessionOf(request), personId, values),
    );
    formRoute('/absences', absenceForm, 'absence', (request, personId, values) =>
      addAbsence(pool, sessionOf(request), personId, values),
    );
    formRoute('/conflicts', conflictForm, 'conflict', (request, personId, values) =>
      addConflict(pool, sessionOf(request), personId, values),
    );
    for (const kind of ['absence', 'conflict'] as const)
      formRoute(`/${kind}s/remove`, z.object({ id }), kind, (request, personId, values) =>
        removeDeclaration(pool, sessionOf(request), personId, kind, values.id),
      );
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
