import type { FastifyInstance } from 'fastify';
import { sessionOf } from '../accounts/policy.ts';
import type { Database } from '../database/database.ts';
import type { Season } from '../database/generated/client.ts';
import { notFound } from '../web/problem.ts';

/** The season that pages show when none is named: the one with the latest game, else the newest. */
export async function currentSeason(
  { prisma, pool }: Database,
  conferenceId: string,
): Promise<Season | null> {
  const { rows } = await pool.query<{ id: string }>(
    `SELECT s.id FROM season s
       LEFT JOIN game g ON g.conference_id = s.conference_id AND g.season_id = s.id
      WHERE s.conference_id = $1
      GROUP BY s.id, s.created_at ORDER BY max(g.kickoff) DESC NULLS LAST, s.created_at DESC LIMIT 1`,
    [conferenceId],
  );
  if (!rows[0]) return null;
  return prisma.season.findUnique({ where: { conferenceId_id: { conferenceId, id: rows[0].id } } });
}

/** @throws Problem 404 when the conference has no such season. */
export async function seasonOf({ prisma }: Database, conferenceId: string, id: string): Promise<Season> {
  const season = await prisma.season.findUnique({ where: { conferenceId_id: { conferenceId, id } } });
  if (!season) throw notFound('season');
  return season;
}

/** From here on in `app`, an address whose `:seasonId` is not the conference's says so, whatever the route does. */
export function refuseUnknownSeasons(app: FastifyInstance): void {
  app.addHook('preHandler', async (request) => {
    const { seasonId } = request.params as { seasonId?: string };
    if (seasonId) await seasonOf(app.database, sessionOf(request).conferenceId, seasonId);
  });
}
