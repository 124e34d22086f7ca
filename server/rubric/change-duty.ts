import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import { type Duty, dutySchema } from '../duties/duty.ts';
import { checkDuty } from '../duties/refusals.ts';
import { dutyFingerprint } from './fingerprints.ts';
import { RubricChangedMeanwhile, RubricChangeRefused } from './refusals.ts';
import { insertDuties, lockVersionToChange, type RubricChanged, versionToChange } from './versions.ts';

export type RubricChange =
  | { readonly kind: 'add'; readonly duty: unknown }
  /** `seen` is the fingerprint of the duty that the change was based on. */
  | { readonly kind: 'change'; readonly key: string; readonly seen: string; readonly duty: unknown }
  | { readonly kind: 'remove'; readonly key: string; readonly seen: string };

/**
 * Adds, changes or removes one duty of a season's rubric, in the caller's transaction. While no report was filed
 * with the current version it is changed itself; afterwards a new version is made and filed reports keep theirs.
 * @throws RubricChangeRefused, RubricChangedMeanwhile
 */
export async function changeRubric(
  client: Queryable,
  actor: Acting,
  seasonId: string,
  change: RubricChange,
  note = '',
): Promise<RubricChanged> {
  const { conferenceId } = actor;
  const version = await lockVersionToChange(client, conferenceId, seasonId);
  const before = await dutyOf(client, conferenceId, version.id, keyOf(change));
  const after = dutyAfter(change, before);

  const changed = await versionToChange(client, actor, version, note);
  const { versionId } = changed;
  if (before !== undefined) {
    await client.query('DELETE FROM duty WHERE conference_id = $1 AND rubric_version_id = $2 AND key = $3', [
      conferenceId,
      versionId,
      before.key,
    ]);
  }
  if (after !== undefined) await insertDuties(client, conferenceId, versionId, [after]);
  await appendAudit(client, {
    conferenceId,
    actorId: actor.personId,
    action: `duty ${change.kind === 'add' ? 'added' : change.kind === 'change' ? 'changed' : 'removed'}`,
    subjectKind: 'rubric_version',
    subjectId: versionId,
    reason: note === '' ? null : note,
    before,
    after,
  });
  return changed;
}

function keyOf(change: RubricChange): string {
  if (change.kind !== 'add') return change.key;
  const key = (change.duty as { key?: unknown } | null | undefined)?.key;
  return typeof key === 'string' ? key : '';
}

function dutyAfter(change: RubricChange, before: Duty | undefined): Duty | undefined {
  if (change.kind !== 'add' && (before === undefined || dutyFingerprint(before) !== change.seen)) {
    throw new RubricChangedMeanwhile(before);
  }
  if (change.kind === 'remove') return undefined;
  const check = checkDuty(change.duty);
  const refusals = check.ok ? [] : [...check.refusals];
  if (change.kind === 'add' && before !== undefined) {
    refusals.push({ field: 'key', reason: `there is a duty "${before.key}" already; choose another key` });
  }
  if (change.kind === 'change' && check.ok && check.duty.key !== change.key) {
    refusals.push({ field: 'key', reason: `stays "${change.key}": observations refer to it` });
  }
  if (!check.ok || refusals.length > 0) throw new RubricChangeRefused(refusals);
  return check.duty;
}

async function dutyOf(
  client: Queryable,
  conferenceId: string,
  versionId: string,
  key: string,
): Promise<Duty | undefined> {
  const { rows } = await client.query<{ definition: unknown }>(
    'SELECT definition FROM duty WHERE conference_id = $1 AND rubric_version_id = $2 AND key = $3',
    [conferenceId, versionId, key],
  );
  return rows[0] && dutySchema.parse(rows[0].definition);
}
