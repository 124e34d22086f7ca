import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { errorsOf, type FormErrors, fieldErrors, formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { frameSchema } from '../program.ts';
import { readProgramNames } from '../stores/program-names.ts';
import { frameOf, readProgram } from '../stores/program-rows.ts';
import { changeFrame } from '../stores/program-store.ts';
import { frameForm, frameOfForm } from './frame-form.ts';

const params = z.object({ programId: z.uuid() });

interface Told {
  readonly errors?: FormErrors;
  /** The frame that it was written on, so that one kept meanwhile by somebody else is not written over unseen. */
  readonly frameVersion?: string;
  readonly refused?: string;
}

/** What a program is for, changed by a form. */
export async function framePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };

  async function framePage(
    request: FastifyRequest,
    programId: string,
    sent?: Told & { values: ReturnType<typeof frameOfForm> },
  ) {
    const { conferenceId } = sessionOf(request);
    const program = await readProgram(pool, conferenceId, programId);
    const { crews } = await readProgramNames(database, conferenceId, program.seasonId);
    return {
      program,
      frameVersion: sent?.frameVersion ?? program.frameVersion,
      form: frameForm(sent?.values ?? frameOf(program), crews, sent?.errors),
      refused: sent?.refused,
      now: sent?.refused ? frameOf(program) : null,
    };
  }

  pages.get(
    '/training/programs/:programId/frame',
    { config, schema: { hide: true, params } },
    async (request, reply) =>
      reply.page('programs/frame', await framePage(request, request.params.programId), {
        title: 'What the program is for',
      }),
  );

  pages.post(
    '/training/programs/:programId/frame',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { programId } = request.params;
      const form = formOf(request.body);
      const values = frameOfForm(form);
      const again = async (status: number, told: Told) =>
        reply.code(status).page('programs/frame', await framePage(request, programId, { values, ...told }), {
          title: 'What the program is for',
        });
      const frameVersion = textOf(form.frameVersion);
      const parsed = frameSchema.safeParse(values);
      if (!parsed.success) return again(400, { errors: errorsOf(parsed.error), frameVersion });
      try {
        await changeFrame(pool, sessionOf(request), programId, parsed.data, Number(frameVersion));
      } catch (error) {
        if (error instanceof Problem && error.status === 409) return again(409, { refused: error.message });
        return again(400, { errors: fieldErrors(error), frameVersion });
      }
      return reply.redirect(`/training/programs/${programId}`, 303);
    },
  );
}
