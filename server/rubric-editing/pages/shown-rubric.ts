import type { FastifyInstance, FastifyRequest } from 'fastify';
import { z } from 'zod';
import { sessionOf } from '../../accounts/policy.ts';
import type { Database } from '../../database/database.ts';
import type { Season } from '../../database/generated/client.ts';
import { hasRubric, requireRubric } from '../../rubric/read-rubric.ts';
import type { Rubric } from '../../rubric/rubric.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { keepable } from '../../text/keepable.ts';
import { exactText } from '../../text/typed-text.ts';
import { type Form, textOf } from '../../web/form.ts';
import { notFound } from '../../web/problem.ts';

export const ofSeason = z.object({ seasonId: z.uuid() });
export const ofDuty = ofSeason.extend({ dutyKey: exactText({ most: 60 }) });

/** Why a rubric is changed, cut at what is kept, never in the middle of a character. */
export const noteFrom = (form: Form): string => keepable(textOf(form.note).trim().slice(0, 500));

/** A season's rubric, the newest version or the one asked for. */
export async function rubricOf(
  database: Database,
  request: FastifyRequest,
  seasonId: string,
  number?: number,
): Promise<{ season: Season; rubric: Rubric }> {
  const { conferenceId } = sessionOf(request);
  const season = await seasonOf(database, conferenceId, seasonId);
  const rubric = await requireRubric(database.pool, conferenceId, season.id, number);
  return { season, rubric };
}

export async function dutyOf(
  database: Database,
  request: FastifyRequest,
  { seasonId, dutyKey }: z.infer<typeof ofDuty>,
  number?: number,
) {
  const found = await rubricOf(database, request, seasonId, number);
  const duty = found.rubric.duties.find((one) => one.key === dutyKey);
  if (duty === undefined) throw notFound('duty');
  return { ...found, duty };
}

/** A season whose rubric was not begun has one thing to show: how to begin it. */
export function sendToBegin(app: FastifyInstance): void {
  const { database } = app;
  app.addHook('preHandler', async (request, reply) => {
    const { conferenceId } = sessionOf(request);
    const { seasonId } = request.params as { seasonId: string };
    const season = await seasonOf(database, conferenceId, seasonId);
    if (await hasRubric(database, conferenceId, season.id)) return;
    return reply.redirect(`/seasons/${season.id}/rubric/start`, 303);
  });
}
