import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { type Policy, policies, sessionOf } from '../../accounts/policy.ts';
import { conflictKinds } from '../../planning/planning-problem.ts';
import { seasonInView } from '../../schedule/seasons.ts';
import { typedDay, typedText } from '../../text/typed-text.ts';
import type { FieldProblem } from '../../web/problem.ts';
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

/** Pages on which observers say when and whom they can watch, and the coordinator the same for all. */
export async function profilePages(plain: FastifyInstance): Promise<void> {
  const app = plain.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;

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

  formsAt('/my/availability', policies.observer, (request) => sessionOf(request).personId);
  formsAt(
    '/observers/people/:personId',
    policies.coordinator,
    (request) => (request.params as { personId: string }).personId,
  );

  /** The same forms at two addresses: an observer's own, and any observer's for the coordinator. */
  function formsAt(address: string, policy: Policy, whose: (request: FastifyRequest) => string) {
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
