import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import type { PersonActing } from '../../accounts/acting.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { readProgram } from '../../programs/stores/program-rows.ts';
import {
  decideObjection,
  listOwnShown,
  objectToPlay,
  readShown,
  tellShown,
} from '../../programs/stores/shown-store.ts';
import { typedText } from '../../text/typed-text.ts';
import { formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { wholeNumber } from '../../web/whole-number.ts';
import { keepTrainingSetting, readTrainingSetting } from '../stores/notice-store.ts';

const program = z.object({ programId: z.uuid() });
const reasonSchema = typedText({ most: 1000 });
const tones = {
  'not told': 'warn',
  'may object': '',
  objects: 'bad',
  decided: 'good',
  'no objection': 'good',
} as const;
export const settingSchema = z.object({
  notice: typedText({ least: 1, most: 2000, tooShort: 'say who may see film, and that it is not passed on' }),
  objectionDays: wholeNumber('objectionDays', 0, 30),
});

/** Who is shown: told, objecting, decided. For the coordinator; and for those who are shown, their own. */
export async function shownPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  const at = '/training/programs/:programId/shown';

  async function view(conferenceId: string, programId: string, told: { wrong?: string } = {}) {
    const shown = await readShown(pool, conferenceId, programId);
    return {
      program: await readProgram(pool, conferenceId, programId),
      shown: shown.map((one) => ({ ...one, tone: tones[one.state], objects: one.state === 'objects' })),
      untold: shown.filter(({ state }) => state === 'not told').length,
      days: (await readTrainingSetting(pool, conferenceId)).objectionDays,
      ...told,
    };
  }
  const title = 'Who is shown';

  pages.get(at, { config, schema: { hide: true, params: program } }, async (request, reply) =>
    reply.page('watching/shown', await view(sessionOf(request).conferenceId, request.params.programId), {
      title,
    }),
  );

  pages.post(`${at}/tell`, { config, schema: { hide: true, params: program } }, async (request, reply) => {
    const { programId } = request.params;
    const parsed = wholeNumber('days', 0, 30).safeParse(textOf(formOf(request.body).days));
    if (!parsed.success) {
      const shown = await view(sessionOf(request).conferenceId, programId, {
        wrong: 'Give a number of days from 0 to 30.',
      });
      return reply.code(400).page('watching/shown', shown, { title });
    }
    await tellShown(pool, sessionOf(request), programId, parsed.data);
    return reply.redirect(`/training/programs/${programId}/shown`, 303);
  });

  pages.post(`${at}/decide`, { config, schema: { hide: true, params: program } }, async (request, reply) => {
    const { programId } = request.params;
    const form = formOf(request.body);
    const decided = z
      .object({
        playId: z.uuid(),
        officialId: z.uuid(),
        decision: z.enum(['shown', 'left out']),
        reason: reasonSchema,
      })
      .safeParse({
        playId: textOf(form.playId),
        officialId: textOf(form.officialId),
        decision: textOf(form.decision),
        reason: textOf(form.reason),
      });
    if (!decided.success || decided.data.reason === '') {
      const shown = await view(sessionOf(request).conferenceId, programId, {
        wrong: 'Give the official a reason; nothing was decided yet.',
      });
      return reply.code(400).page('watching/shown', shown, { title });
    }
    await decideObjection(pool, sessionOf(request), { programId, ...decided.data }, decided.data);
    return reply.redirect(`/training/programs/${programId}/shown`, 303);
  });

  async function own(session: PersonActing, told: { wrong?: string; at?: string; reason?: string } = {}) {
    const now = new Date();
    return {
      plays: (await listOwnShown(pool, session)).map((one) => ({
        ...one,
        mayObject: one.objectedAt === null && one.objectUntil > now,
        ...(told.at === one.playId ? { wrong: told.wrong, written: told.reason } : {}),
      })),
    };
  }

  pages.get(
    '/my/training/shown',
    { config: { policy: policies.official }, schema: { hide: true } },
    async (request, reply) =>
      reply.page('watching/own-shown', await own(sessionOf(request)), { title: 'Plays that show me' }),
  );

  pages.post(
    '/my/training/shown/:programId/:playId',
    {
      config: { policy: policies.official },
      schema: { hide: true, params: program.extend({ playId: z.uuid() }) },
    },
    async (request, reply) => {
      const reason = reasonSchema.safeParse(textOf(formOf(request.body).reason));
      try {
        await objectToPlay(pool, sessionOf(request), request.params, reason.success ? reason.data : '');
      } catch (error) {
        if (!(error instanceof Problem) || ![400, 409].includes(error.status)) throw error;
        const wrong = error.errors[0]?.message ?? error.message;
        const shown = await own(sessionOf(request), {
          wrong,
          at: request.params.playId,
          reason: textOf(formOf(request.body).reason),
        });
        return reply.code(error.status).page('watching/own-shown', shown, { title: 'Plays that show me' });
      }
      return reply.redirect('/my/training/shown', 303);
    },
  );

  pages.get('/settings/training', { config, schema: { hide: true } }, async (request, reply) => {
    const values = await readTrainingSetting(pool, sessionOf(request).conferenceId);
    return reply.page(
      'watching/setting',
      { values, kept: formOf(request.query).done },
      { title: 'Training' },
    );
  });

  pages.post('/settings/training', { config, schema: { hide: true } }, async (request, reply) => {
    const form = formOf(request.body);
    const values = { notice: textOf(form.notice), objectionDays: textOf(form.objectionDays) };
    const parsed = settingSchema.safeParse(values);
    if (!parsed.success) {
      const errors = Object.fromEntries(
        parsed.error.issues.map(({ path, message }) => [String(path[0]), message]),
      );
      return reply.code(400).page('watching/setting', { values, errors }, { title: 'Training' });
    }
    await keepTrainingSetting(pool, sessionOf(request), parsed.data);
    return reply.redirect('/settings/training?done=yes', 303);
  });
}
