import { z } from 'zod';
import type { Queryable } from '../database/transaction.ts';
import { positions } from '../football/positions.ts';

export const audiences = ['officials', 'positions', 'crew'] as const;

/** Whom a quiz or a clinic is for. */
export const audienceFields = {
  audience: z.enum(audiences).default('officials').describe('all officials, those of positions, or a crew'),
  positions: z.array(z.enum(positions)).max(positions.length).default([]),
  crewId: z.uuid().nullable().default(null),
};
export interface Audience {
  readonly audience: (typeof audiences)[number];
  readonly positions: readonly string[];
  readonly crewId: string | null;
}

/** What is wrong with an audience, by field; null when it says whom it means. */
export function audienceFault({ audience, positions: of, crewId }: Audience) {
  if (audience === 'positions' && of.length === 0)
    return { field: 'positions', message: 'choose at least one position' };
  if (audience === 'crew' && crewId === null) return { field: 'crewId', message: 'choose a crew' };
  return null;
}

/** An audience with what another choice would need left out, as it is kept. */
export const settledAudience = (one: Audience): Audience => ({
  audience: one.audience,
  positions: one.audience === 'positions' ? one.positions : [],
  crewId: one.audience === 'crew' ? one.crewId : null,
});

/**
 * Officials who belong to it now: active, not departed from the season; a position's, who stand there in a crew of the
 * season or worked a game of it there; a crew's, its members.
 */
export async function officialsMeant(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  { audience, positions: of, crewId }: Audience,
): Promise<string[]> {
  const { rows } = await db.query<{ id: string }>(
    `SELECT p.id FROM person p
       JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id AND r.role = 'official'
      WHERE p.conference_id = $1 AND p.active AND p.erased_at IS NULL
        AND NOT EXISTS (SELECT FROM season_departure d
                         WHERE d.conference_id = $1 AND d.season_id = $2 AND d.person_id = p.id)
        AND ($3 = 'officials'
          OR $3 = 'crew' AND EXISTS (SELECT FROM crew_member m
               WHERE m.conference_id = $1 AND m.crew_id = $5::uuid AND m.person_id = p.id)
          OR $3 = 'positions' AND (EXISTS (SELECT FROM crew c
               JOIN crew_member m ON m.conference_id = $1 AND m.crew_id = c.id AND m.position = ANY ($4::text[])
              WHERE c.conference_id = $1 AND c.season_id = $2 AND m.person_id = p.id)
            OR EXISTS (SELECT FROM game g
               JOIN working_crew_member w ON w.conference_id = $1 AND w.game_id = g.id AND w.position = ANY ($4::text[])
              WHERE g.conference_id = $1 AND g.season_id = $2 AND w.person_id = p.id)))
      ORDER BY p.id`,
    [conferenceId, seasonId, audience, of, crewId],
  );
  return rows.map(({ id }) => id);
}

/** Whether the season has such a crew. */
export async function crewOfSeason(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  crewId: string,
): Promise<boolean> {
  const { rowCount } = await db.query(
    'SELECT FROM crew WHERE conference_id = $1 AND season_id = $2 AND id = $3',
    [conferenceId, seasonId, crewId],
  );
  return rowCount === 1;
}
