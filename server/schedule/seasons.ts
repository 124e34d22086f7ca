import type { FastifyInstance, FastifyRequest } from 'fastify';
import { sessionOf } from '../accounts/policy.ts';
import type { Database } from '../database/database.ts';
import type { Season } from '../database/generated/client.ts';
import { notFound } from '../web/problem.ts';

/** The conference's current season, chosen by its coordinator; null while it has none. */
export async function currentSeason({ prisma }: Database, conferenceId: string): Promise<Season | null> {
  const conference = await prisma.conference.findUnique({
    where: { id: conferenceId },
    select: { currentSeason: true },
  });
  return conference?.currentSeason ?? null;
}

/** How many officials work a game of the conference, when a season does not say otherwise. */
export async function usualCrewSize({ prisma }: Database, conferenceId: string): Promise<number> {
  const { crewSize } = await prisma.conference.findUniqueOrThrow({
    where: { id: conferenceId },
    select: { crewSize: true },
  });
  return crewSize;
}

/** @throws Problem 404 when the conference has no such season. */
export async function seasonOf({ prisma }: Database, conferenceId: string, id: string): Promise<Season> {
  const season = await prisma.season.findUnique({ where: { conferenceId_id: { conferenceId, id } } });
  if (!season) throw notFound('season');
  return season;
}

/** The conference's season of that name, as files and commands give it; null when there is none. */
export function seasonNamed(
  { prisma }: Database,
  conferenceId: string,
  name: string,
): Promise<Season | null> {
  return prisma.season.findUnique({ where: { conferenceId_name: { conferenceId, name } } });
}

/**
 * The season a request is about: the one in the address (`:seasonId`), for a page also that of the game, report,
 * letter ... in the address, else the one this person last looked at, else the conference's current one; null while
 * the conference has none.
 * @throws Problem 404 when the address names a season that is not the conference's.
 */
export async function seasonInView(database: Database, request: FastifyRequest): Promise<Season | null> {
  const { conferenceId, seasonId: chosen } = sessionOf(request);
  const { seasonId: inAddress } = request.params as { seasonId?: string };
  const id = inAddress ?? request.seasonsShown?.inView?.id ?? chosen;
  return id ? seasonOf(database, conferenceId, id) : currentSeason(database, conferenceId);
}

/** From here on in `app`, an address whose `:seasonId` is not the conference's says so, whatever the route does. */
export function refuseUnknownSeasons(app: FastifyInstance): void {
  app.addHook('preHandler', async (request) => {
    const { seasonId } = request.params as { seasonId?: string };
    if (seasonId) await seasonOf(app.database, sessionOf(request).conferenceId, seasonId);
  });
}
