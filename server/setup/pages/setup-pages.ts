import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { codes } from '../../football/codes.ts';
import { crewSizes } from '../../football/positions.ts';
import { answerStep } from '../../schedule/season-steps.ts';
import { seasonInView } from '../../schedule/seasons.ts';
import { errorsOf, type Form, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { timeZoneNames } from '../../web/time-zone.ts';
import { conferenceSchema, keepConference, readConference } from '../conference-store.ts';
import { readSetupFacts } from '../facts-store.ts';
import { isSetUp, nextStep, type SetupStep, type StepState, setupSteps } from '../steps.ts';

/** The list of what is still to do, and the conference's own page. */
export async function setupPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const forCoordinator = { policy: policies.coordinator };

  async function stepsFor(request: FastifyRequest) {
    const season = await seasonInView(database, request);
    const facts = await readSetupFacts(pool, sessionOf(request).conferenceId, season?.id ?? null);
    return { facts, steps: setupSteps(facts) };
  }

  pages.get('/setup', { config: forCoordinator, schema: { hide: true } }, async (request, reply) => {
    const { facts, steps } = await stepsFor(request);
    const next = nextStep(steps);
    return reply.page(
      'setup/list',
      {
        season: facts.season,
        steps: steps.map((step, at) => stepView(step, at + 1, step.key === next?.key)),
        done: isSetUp(steps),
        // Invitations and settings are to do as well, but nobody needs them to report.
        left: steps.filter(({ key, state }) => state !== 'done' && !['invitations', 'settings'].includes(key))
          .length,
        besides: steps.filter(
          ({ key, state }) => state !== 'done' && ['invitations', 'settings'].includes(key),
        ).length,
        notice: kept[textOf(formOf(request.query).done)],
      },
      { title: 'Setting up' },
    );
  });

  pages.post(
    '/setup/:step',
    {
      config: forCoordinator,
      schema: { hide: true, params: z.object({ step: z.enum(['crews', 'invitations']) }) },
    },
    async (request, reply) => {
      const season = await seasonInView(database, request);
      const answer = textOf(formOf(request.body).answer) === 'left out' ? 'left out' : null;
      if (season) {
        await inTransaction(pool, (client) =>
          answerStep(client, sessionOf(request), season.id, request.params.step, answer),
        );
      }
      return reply.redirect(`/setup#${request.params.step}`, 303);
    },
  );

  const conferenceView = (values: Form | Record<string, unknown>, errors: FormErrors = {}) => ({
    values,
    errors,
    zones: timeZoneNames,
    codes: codes.map((code) => ({ code, chosen: code === values.code })),
    sizes: crewSizes.map((size) => ({ size, chosen: String(size) === String(values.crewSize) })),
  });

  pages.get(
    '/setup/conference',
    { config: forCoordinator, schema: { hide: true } },
    async (request, reply) => {
      const values = await readConference(database, sessionOf(request).conferenceId);
      return reply.page('setup/conference', conferenceView(values), { title: 'The conference' });
    },
  );

  pages.post(
    '/setup/conference',
    { config: forCoordinator, schema: { hide: true } },
    async (request, reply) => {
      const form = formOf(request.body);
      const parsed = conferenceSchema.safeParse(form);
      if (!parsed.success) {
        return reply.code(400).page('setup/conference', conferenceView(form, errorsOf(parsed.error)), {
          title: 'The conference',
        });
      }
      await inTransaction(pool, (client) => keepConference(client, sessionOf(request), parsed.data));
      return reply.redirect('/setup?done=conference', 303);
    },
  );
}

const kept: Record<string, string> = {
  conference: 'The conference is kept.',
  settings: 'The settings are kept.',
};

const tones: Record<StepState, string> = { done: 'good', 'in part': 'warn', 'to do': '', waits: '' };

const stepView = (step: SetupStep, number: number, isNext: boolean) => ({
  ...step,
  number,
  isNext,
  tone: tones[step.state],
  links: step.links.map((link, at) => ({ ...link, first: at === 0 })),
  takesUp: step.leftOut,
  leavesOut: step.mayLeaveOut && !step.leftOut && step.state !== 'waits',
});
