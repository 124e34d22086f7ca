import type pg from 'pg';
import type { Acting } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { inTransaction } from '../../database/transaction.ts';
import { conflict } from '../../web/problem.ts';
import { erasePerson } from '../erasure.ts';
import { beginTakingAway } from '../taking-away.ts';
import { type Due, digestOf, dueNow, tookAway } from './due.ts';
import { outOfHistory } from './history.ts';
import { partsOfConference, partsOfSeason, takeParts } from './parts.ts';
import { readRetention } from './setting-store.ts';

type By = 'by hand' | 'by the timetable';

/** A kind of a season, of a person or of neither, with what really went. */
export type Taken = Due;

/**
 * Takes away what is due today: each kind of each season, and each person, in a transaction of its own with an entry in
 * the audit trail, so that a run that was cut off is gone on with by the next. Two at once take nothing twice.
 * @param seen the digest of the dry run that the person looked at
 * @throws Problem 409 when something else is due than what they looked at
 */
export async function takeAwayDue(pool: pg.Pool, acting: Acting, by: By, seen?: string): Promise<Taken[]> {
  const setting = await readRetention(pool, acting.conferenceId);
  const due = await dueNow(pool, acting.conferenceId, setting);
  if (seen !== undefined && seen !== digestOf(due)) {
    throw conflict(
      'What would go has changed since you looked at it, so nothing was taken away. Look at the dry run again, then confirm it.',
      [{ field: 'seen', message: 'is of another dry run; look at the present one and send its digest' }],
    );
  }
  const taken: Taken[] = [];
  for (const one of due) {
    const went = await inTransaction(pool, (client) => takeOne(client, acting, by, one));
    if (went) taken.push(went);
  }
  return taken;
}

/** @returns null when it is no longer due */
async function takeOne(client: pg.PoolClient, acting: Acting, by: By, one: Due): Promise<Taken | null> {
  const { conferenceId } = acting;
  const { kind, season, person } = one;
  await beginTakingAway(client, conferenceId);
  // Held, so that it is not opened again meanwhile.
  if (season) {
    await client.query('SELECT FROM season WHERE conference_id = $1 AND id = $2 FOR UPDATE', [
      conferenceId,
      season.id,
    ]);
  }
  const setting = await readRetention(client, conferenceId);
  const years = setting[kind];
  const still = (await dueNow(client, conferenceId, setting, [kind])).some(
    (other) => other.season?.id === season?.id && other.person?.id === person?.id,
  );
  if (years === null || !still) return null;
  if (person) {
    const reason = `Kept for ${years} years after the last season (${by}).`;
    await erasePerson(client, acting, person.id, reason);
    return one;
  }
  const counts = season
    ? await takeParts(client, conferenceId, season.id, partsOfSeason[kind]!)
    : await takeParts(client, conferenceId, years, partsOfConference[kind]!);
  const wordsTakenAway = await outOfHistory(client, acting, one, years);
  await appendAudit(client, {
    conferenceId,
    actorId: acting.personId,
    action: tookAway,
    subjectKind: season ? 'season' : 'conference',
    subjectId: season ? season.id : conferenceId,
    after: { kind, keptYears: years, by, counts, ...(wordsTakenAway && { wordsTakenAway }) },
  });
  return { ...one, counts };
}
