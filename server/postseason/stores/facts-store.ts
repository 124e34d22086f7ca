import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { conflict, invalid } from '../../web/problem.ts';
import type { FactsLine, FactsTyped } from '../facts.ts';

type Row = Omit<FactsLine, 'facts' | 'enteredAt'> & FactsLine['facts'] & { enteredAt: Date | null };

/** What is known of each official of the conference in a season, by id, in the order of their names. */
export async function readFacts(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  officialId: string | null = null,
): Promise<Map<string, FactsLine>> {
  const { rows } = await db.query<Row>(
    `SELECT p.id AS "personId", f.years_of_service AS "yearsOfService", f.fitness_passed AS "fitnessPassed",
            to_char(f.fitness_until, 'YYYY-MM-DD') AS "fitnessUntil", f.rules_test_score AS "rulesTestScore",
            f.good_standing AS "goodStanding", coalesce(f.standing_reason, '') AS "standingReason", f.available,
            coalesce(f.days_away, '[]') AS "daysAway", f.postseasons_lately AS "postseasonsLately",
            f.entered_how AS "enteredHow", f.entered_by AS "enteredBy", f.entered_at AS "enteredAt",
            coalesce(f.revision, 0) AS revision,
            ARRAY(SELECT t.team_id FROM official_tie t WHERE t.conference_id = $1 AND t.person_id = p.id
                   ORDER BY t.team_id) AS ties
       FROM person p
       LEFT JOIN official_fact f ON f.conference_id = p.conference_id AND f.person_id = p.id AND f.season_id = $2
      WHERE p.conference_id = $1 AND ($3::uuid IS NULL OR p.id = $3)
        AND (f.person_id IS NOT NULL OR p.active AND EXISTS (
              SELECT FROM person_role r WHERE r.conference_id = $1 AND r.person_id = p.id AND r.role = 'official'))
      ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId, seasonId, officialId],
  );
  return new Map(
    rows.map(({ personId, ties, enteredHow, enteredBy, enteredAt, revision, ...facts }) => [
      personId,
      {
        ...{ personId, facts, ties, enteredHow, enteredBy, revision },
        enteredAt: enteredAt?.toISOString() ?? null,
      },
    ]),
  );
}

/**
 * Keeps what is known of officials, all or nothing; those of whom nothing was changed stay as they are.
 * @throws Problem 400 naming the official's field, 409 when somebody changed one of them meanwhile
 */
export async function keepFacts(
  pool: pg.Pool,
  acting: PersonActing,
  seasonId: string,
  typed: ReadonlyMap<string, FactsTyped>,
): Promise<number> {
  const { conferenceId, personId } = acting;
  return inTransaction(pool, async (client) => {
    // One who keeps waits for the other, so that each sees the other's revisions.
    await client.query('SELECT FROM season WHERE conference_id = $1 AND id = $2 FOR NO KEY UPDATE', [
      conferenceId,
      seasonId,
    ]);
    const there = await readFacts(client, conferenceId, seasonId);
    const changed: { officialId: string; before: object; after: object }[] = [];
    const older: string[] = [];
    for (const [officialId, { revision, ties, ...facts }] of typed) {
      const line = there.get(officialId);
      if (!line)
        throw invalid([{ field: officialId, message: 'is no official of this conference; leave them out' }]);
      const sameFacts = JSON.stringify(sorted(facts)) === JSON.stringify(sorted(line.facts));
      const sameTies = JSON.stringify([...ties].sort()) === JSON.stringify([...line.ties].sort());
      if (sameFacts && sameTies) continue;
      if (revision !== line.revision) {
        older.push(officialId);
        continue;
      }
      await keepOne(client, acting, seasonId, officialId, facts);
      if (!sameTies) await keepTies(client, acting, officialId, ties);
      changed.push({
        officialId,
        before: { ...line.facts, ties: line.ties },
        after: { ...facts, ties },
      });
    }
    if (older.length > 0)
      throw conflict(
        'Somebody else changed the same officials meanwhile; nothing was kept, and what you typed is still here. Look at what there is now, then keep yours again.',
        older.map((field) => ({ field, message: 'was changed by somebody else meanwhile' })),
      );
    for (const { officialId, before, after } of changed)
      await appendAudit(client, {
        ...{ conferenceId, actorId: personId, action: 'facts for selections entered' },
        ...{ subjectKind: 'person', subjectId: officialId, before, after },
      });
    return changed.length;
  });
}

const sorted = (facts: object) => Object.entries(facts).sort(([a], [b]) => (a < b ? -1 : 1));

async function keepOne(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  seasonId: string,
  officialId: string,
  facts: Omit<FactsTyped, 'revision' | 'ties'>,
): Promise<void> {
  await client.query(
    `INSERT INTO official_fact AS f
       (conference_id, season_id, person_id, years_of_service, fitness_passed, fitness_until, rules_test_score,
        good_standing, standing_reason, available, days_away, postseasons_lately, entered_how, entered_by)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, 'page', $13)
     ON CONFLICT (conference_id, season_id, person_id) DO UPDATE
       SET years_of_service = excluded.years_of_service, fitness_passed = excluded.fitness_passed,
           fitness_until = excluded.fitness_until, rules_test_score = excluded.rules_test_score,
           good_standing = excluded.good_standing, standing_reason = excluded.standing_reason,
           available = excluded.available, days_away = excluded.days_away,
           postseasons_lately = excluded.postseasons_lately, entered_how = 'page',
           entered_by = excluded.entered_by, entered_at = now(), revision = f.revision + 1`,
    [
      ...[conferenceId, seasonId, officialId, facts.yearsOfService, facts.fitnessPassed, facts.fitnessUntil],
      ...[facts.rulesTestScore, facts.goodStanding, facts.standingReason, facts.available],
      ...[JSON.stringify(facts.daysAway), facts.postseasonsLately, personId],
    ],
  );
}

async function keepTies(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  officialId: string,
  ties: readonly string[],
): Promise<void> {
  const { rowCount } = await client.query(
    'SELECT FROM team WHERE conference_id = $1 AND id = ANY ($2::uuid[])',
    [conferenceId, ties],
  );
  if (rowCount !== new Set(ties).size)
    throw invalid([
      { field: 'ties', message: 'names a team that is not of this conference; choose its teams' },
    ]);
  await client.query(
    'DELETE FROM official_tie WHERE conference_id = $1 AND person_id = $2 AND team_id <> ALL ($3::uuid[])',
    [conferenceId, officialId, ties],
  );
  await client.query(
    `INSERT INTO official_tie (conference_id, person_id, team_id, entered_by)
     SELECT $1, $2, unnest($3::uuid[]), $4 ON CONFLICT DO NOTHING`,
    [conferenceId, officialId, ties, personId],
  );
}
