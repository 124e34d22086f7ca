import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { formOf, listOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { clipFromForm, clipsOfProgram } from '../choose-clips.ts';
import { openLesson } from '../lesson.ts';
import { readSet } from '../stores/set-rows.ts';
import { addClips, closeSet, openSet, remindObservers, removeClip, removeSet } from '../stores/set-store.ts';
import { setView } from './set-view.ts';

const params = z.object({ setId: z.uuid() });

/** One calibration set for the coordinator: clips, observers, who has handed in, and how far the panel agrees. */
export async function setPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };

  const show = async (
    request: FastifyRequest,
    reply: FastifyReply,
    setId: string,
    told: { refused?: string; done?: string | undefined } = {},
  ) => {
    const view = await setView(database, sessionOf(request), setId);
    return reply.page('calibration/set', { ...view, ...told }, { title: view.set.title });
  };
  /** Does something to a set; what is refused is said on its page as it is now. */
  const doing = async (
    request: FastifyRequest,
    reply: FastifyReply,
    setId: string,
    work: () => Promise<string>,
  ) => {
    try {
      return reply.redirect(await work(), 303);
    } catch (error) {
      if (!(error instanceof Problem) || ![400, 409].includes(error.status)) throw error;
      const said = (error.errors ?? []).map(({ message }) => message).join('; ');
      reply.code(error.status);
      return show(request, reply, setId, { refused: said === '' ? error.message : `Not done: ${said}.` });
    }
  };
  const address = (setId: string, then = '') => `/calibration/${setId}${then}`;

  pages.get(
    '/calibration/:setId',
    { config, schema: { hide: true, params, querystring: z.object({ reminded: z.string().optional() }) } },
    async (request, reply) => {
      const { reminded } = request.query;
      return show(request, reply, request.params.setId, {
        done: reminded === undefined ? undefined : 'Those who have not handed in were reminded.',
      });
    },
  );

  pages.post(
    '/calibration/:setId/clips',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { setId } = request.params;
      const session = sessionOf(request);
      const form = formOf(request.body);
      return doing(request, reply, setId, async () => {
        const set = await readSet(pool, session.conferenceId, setId);
        const program = textOf(form.program);
        const clips =
          program === ''
            ? [await clipFromForm(pool, session.conferenceId, set, form)]
            : await clipsOfProgram(pool, session.conferenceId, program);
        await addClips(pool, session, setId, clips);
        return address(setId, '#clips');
      });
    },
  );

  pages.post(
    '/calibration/:setId/clips/:number/remove',
    {
      config,
      schema: { hide: true, params: params.extend({ number: z.coerce.number().int().min(1).max(10_000) }) },
    },
    async (request, reply) => {
      const { setId, number } = request.params;
      return doing(request, reply, setId, async () => {
        await removeClip(pool, sessionOf(request), setId, number);
        return address(setId, '#clips');
      });
    },
  );

  pages.post(
    '/calibration/:setId/open',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { setId } = request.params;
      const asked = listOf(formOf(request.body).observer).filter((id) => id !== '');
      return doing(request, reply, setId, async () => {
        await openSet(pool, sessionOf(request), setId, asked);
        return address(setId);
      });
    },
  );

  pages.post(
    '/calibration/:setId/remind',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { setId } = request.params;
      return doing(request, reply, setId, async () => {
        await remindObservers(pool, sessionOf(request), setId);
        return address(setId, '?reminded=yes');
      });
    },
  );

  pages.post(
    '/calibration/:setId/close',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { setId } = request.params;
      return doing(request, reply, setId, async () => {
        await closeSet(pool, sessionOf(request), setId);
        return address(setId);
      });
    },
  );

  pages.post(
    '/calibration/:setId/delete',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { setId } = request.params;
      const session = sessionOf(request);
      return doing(request, reply, setId, async () => {
        const { seasonId } = await readSet(pool, session.conferenceId, setId);
        await removeSet(pool, session, setId);
        return `/seasons/${seasonId}/calibration`;
      });
    },
  );

  pages.post(
    '/calibration/:setId/lesson',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { setId } = request.params;
      const form = formOf(request.body);
      return doing(request, reply, setId, async () => {
        const program = await openLesson(database, sessionOf(request), setId, {
          number: Number(textOf(form.number)),
          duty: textOf(form.duty),
        });
        return `/training/programs/${program}`;
      });
    },
  );
}
