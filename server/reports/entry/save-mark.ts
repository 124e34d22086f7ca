import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { consequenceAfter, mayHaveConsequence, unfitConsequence } from '../../duties/consequence.ts';
import { findingsOf } from '../../duties/finding.ts';
import { unfiledStates } from '../../schedule/open-states.ts';
import { applyChanges } from './apply-changes.ts';
import type { Change, ChangeResult, PutMark } from './changes.ts';
import { Refused } from './keep-change.ts';

type Saving = PersonActing;

/**
 * Applies a device's changes as `applyChanges` does, in a transaction of its own. What is sent most, one mark that
 * nobody else has touched, is saved by a single statement; whatever that does not fit goes the long way.
 * @throws as `applyChanges`.
 */
export async function saveChanges(
  pool: pg.Pool,
  acting: Saving,
  reportId: string,
  changes: readonly Change[],
): Promise<ChangeResult[]> {
  const only = changes.length === 1 ? changes[0] : undefined;
  if (only?.kind === 'put mark' && (await saveMark(pool, acting, reportId, only))) {
    return [{ id: only.id, outcome: 'applied' }];
  }
  try {
    return await inTransaction(pool, (client) => applyChanges(client, acting, reportId, changes));
  } catch (error) {
    if (!isOfTheData(error)) throw error;
    // One change spoilt the transaction for all: once more, each by itself.
    return inTransaction(pool, (client) =>
      applyChanges(client, acting, reportId, changes, (apply) => byItself(client, apply)),
    );
  }
}

/** Undoes what a change did before the database refused its data, and refuses that change alone. */
async function byItself<Result>(client: Queryable, apply: () => Promise<Result>): Promise<Result> {
  await client.query('SAVEPOINT change');
  try {
    const result = await apply();
    await client.query('RELEASE SAVEPOINT change');
    return result;
  } catch (error) {
    if (!isOfTheData(error)) throw error;
    await client.query('ROLLBACK TO SAVEPOINT change');
    throw new Refused('The server cannot keep it as it stands.');
  }
}

/** PostgreSQL's classes of data exceptions (22) and broken constraints (23): waiting does not help. */
const isOfTheData = (error: unknown) => /^2[23]/.test(String((error as { code?: unknown })?.code ?? ''));

// The report and the play are locked before they are believed: a step or a removal that is under way is waited for,
// and what it leaves is looked at. The unique indexes see to the rest. The play is asked for by its key alone: with the
// other conditions there, a planner without statistics goes through every play of the conference.
const believed = `
  WITH r AS MATERIALIZED (
    SELECT id, game_id, season_id FROM report
     WHERE conference_id = $1 AND id = $2 AND state IN ${unfiledStates} FOR NO KEY UPDATE),
  l AS MATERIALIZED (
    SELECT game_id, removed_at FROM play WHERE conference_id = $1 AND id = $6 FOR SHARE),
  ok AS MATERIALIZED (
    SELECT w.person_id FROM r, l, working_crew_member w, duty d
     WHERE l.game_id = r.game_id AND l.removed_at IS NULL
       AND w.conference_id = $1 AND w.game_id = r.game_id AND w.position = $7
       AND d.conference_id = $1 AND d.key = $8 AND $9 = ANY (CASE d.graded_as WHEN 'call' THEN $12::text[] ELSE $13 END)
       AND d.rubric_version_id = (SELECT id FROM rubric_version v WHERE v.conference_id = $1
                                     AND v.season_id = r.season_id ORDER BY v.number DESC LIMIT 1))`;

const keep = (from: string) => `
  kept AS (
    INSERT INTO report_change (conference_id, report_id, id, made_by, kind, content, outcome)
    SELECT $1, $2, $3, $4, 'put mark', $11, 'applied' FROM ${from})`;

const newMark = `${believed},
  put AS (
    INSERT INTO observation (conference_id, id, report_id, play_id, person_id, position, duty_key, finding, comment,
                             consequence, change_id)
    SELECT $1, $5, $2, $6, person_id, $7, $8, $9, $10, $14, $3 FROM ok
    ON CONFLICT DO NOTHING RETURNING id),
  ${keep('put')}
  SELECT FROM put`;

const changedMark = `${believed},
  put AS (
    UPDATE observation o
       SET finding = $9, comment = $10, consequence = CASE WHEN $16 THEN o.consequence ELSE $14 END, change_id = $3,
           updated_at = now(), version = version + 1
      FROM ok
     WHERE o.conference_id = $1 AND o.id = $5 AND o.report_id = $2 AND o.play_id = $6 AND o.position = $7
       AND o.duty_key = $8 AND o.person_id = ok.person_id AND o.removed_at IS NULL AND o.change_id = $15
    RETURNING o.id),
  ${keep('put')}
  SELECT FROM put`;

/** True when the mark was saved; false when the case is not the plain one (and nothing was done). */
async function saveMark(db: Queryable, acting: Saving, reportId: string, change: PutMark): Promise<boolean> {
  if (unfitConsequence(change.finding, change.consequence)) return false;
  const { id, kind: _, ...content } = change;
  const values: unknown[] = [
    acting.conferenceId,
    reportId,
    id,
    acting.personId,
    change.markId,
    change.playId,
    change.position,
    change.dutyKey,
    change.finding,
    change.comment,
    JSON.stringify(content),
    findingsOf('call'),
    findingsOf('mechanics'),
    consequenceAfter(change, null),
  ];
  const staysAsItWas = change.consequence === undefined && mayHaveConsequence(change.finding);
  const query =
    change.basedOn === null
      ? { name: 'save-new-mark', text: newMark, values }
      : { name: 'save-changed-mark', text: changedMark, values: [...values, change.basedOn, staysAsItWas] };
  try {
    return (await db.query(query)).rowCount === 1;
  } catch (error) {
    if (isOfTheData(error)) return false;
    throw error;
  }
}
