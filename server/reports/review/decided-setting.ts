import { z } from 'zod';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Database } from '../../database/database.ts';
import type { Queryable } from '../../database/transaction.ts';
import { countsMethod } from '../../duties/opportunity-counts.ts';
import { handedInStates } from '../../schedule/open-states.ts';
import { wholeNumber } from '../../web/whole-number.ts';
import { recountGames } from './corrections.ts';

/** Of the chances that a duty probably had in a report, the share (%) that the log must give for it to count. */
export const decidedSettingSchema = z.strictObject({
  decidedShare: wholeNumber('decidedShare', 0, 100),
});
type DecidedSetting = z.infer<typeof decidedSettingSchema>;

export async function decidedSetting(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
): Promise<DecidedSetting> {
  const { decidedShareLeast } = await prisma.conference.findUniqueOrThrow({
    where: { id: conferenceId },
    select: { decidedShareLeast: true },
  });
  return { decidedShare: Math.round(100 * decidedShareLeast) };
}

/** How many reports were counted again, and in how many of them anything changed. */
interface CountedAgain {
  readonly counted: number;
  readonly changed: number;
}

/**
 * Sets it and counts again what is filed, accepted or released in seasons that are not closed; a released report that
 * changed is a new revision. Undefined when it was so already and all is counted by the present method.
 */
export async function keepDecidedSetting(
  client: Queryable,
  acting: PersonActing,
  { decidedShare }: DecidedSetting,
): Promise<CountedAgain | undefined> {
  const { conferenceId } = acting;
  // The reports first: whoever corrects one waits for this, or this for them. Filing holds the conference's row.
  await client.query(`${countedReports} ORDER BY r.id FOR UPDATE OF r`, [conferenceId]);
  const { rows } = await client.query<{ before: number }>(
    `UPDATE conference c SET decided_share_least = $2 FROM conference old
      WHERE c.id = $1 AND old.id = $1 AND old.decided_share_least <> $2 RETURNING old.decided_share_least AS before`,
    [conferenceId, decidedShare / 100],
  );
  const { rows: reports } = await client.query<{
    gameId: string;
    method: number | null;
    least: number | null;
  }>(countedReports, [conferenceId]);
  const asSet = reports.every(({ method, least }) => method === countsMethod && least === decidedShare / 100);
  if (!rows[0] && asSet) return undefined;
  const games = [...new Set(reports.map(({ gameId }) => gameId))];
  const changed = await recountGames(
    client,
    acting,
    games,
    `A log must give ${decidedShare} % of a duty's chances`,
  );
  const again = { counted: reports.length, changed: changed.length };
  await appendAudit(client, {
    conferenceId,
    actorId: acting.personId,
    action: rows[0] ? 'least share of chances changed' : 'reports counted again',
    subjectKind: 'conference',
    subjectId: conferenceId,
    before: { decidedShare: rows[0] ? Math.round(100 * rows[0].before) : decidedShare },
    after: { decidedShare, reportsCounted: again.counted, reportsChanged: again.changed },
  });
  return again;
}

const countedReports = `
  SELECT r.game_id AS "gameId", r.counts_method AS method, r.counted_share_least AS least FROM report r
    JOIN season s ON s.conference_id = r.conference_id AND s.id = r.season_id AND s.state <> 'closed'
   WHERE r.conference_id = $1 AND r.state IN ${handedInStates}`;

/**
 * How many of those reports were counted otherwise than one would be now, by an earlier version of the program or, in a
 * season reopened since, with another least share: keeping the settings counts them again.
 */
export async function countedBefore(db: Queryable, conferenceId: string): Promise<number> {
  const { rows } = await db.query<{ reports: number }>(
    `SELECT count(*)::int AS reports FROM (${countedReports} AND (r.counts_method IS DISTINCT FROM $2 OR r.counted_share_least IS DISTINCT FROM
              (SELECT decided_share_least FROM conference WHERE id = $1))) old`,
    [conferenceId, countsMethod],
  );
  return rows[0]!.reports;
}
