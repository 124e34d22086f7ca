import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import { carriedOver } from '../duties/change-of-code.ts';
import { rulesFingerprint } from './fingerprints.ts';
import { readRubric } from './read-rubric.ts';
import { PlayingRulesChangedMeanwhile, RubricChangeRefused } from './refusals.ts';
import type { PlayingRules } from './rubric.ts';
import { insertDuties, lockVersionToChange, type RubricChanged, versionToChange } from './versions.ts';

/**
 * Changes the rules book or the practices of a season's rubric, in the caller's transaction; by the rule of
 * `changeRubric` a version that a report was filed with stays as it was. With another rules book the duties that are
 * as they began take its wording (see `carriedOver`).
 * `seen` is the fingerprint of the rules that the change is based on.
 * @throws RubricChangeRefused when nothing would change or there is no rubric; PlayingRulesChangedMeanwhile
 */
export async function changePlayingRules(
  client: Queryable,
  actor: Acting,
  seasonId: string,
  { seen, ...after }: PlayingRules & { readonly seen: string },
  note = '',
): Promise<RubricChanged> {
  const { conferenceId } = actor;
  const version = await lockVersionToChange(client, conferenceId, seasonId);
  const before = (await readRubric(client, conferenceId, seasonId))!;
  if (rulesFingerprint(before) !== seen) throw new PlayingRulesChangedMeanwhile();
  if (rulesFingerprint(after) === rulesFingerprint(before)) {
    throw new RubricChangeRefused([{ field: 'practices', reason: 'are these already; change one of them' }]);
  }
  const changed = await versionToChange(client, actor, version, note);
  await client.query(
    'UPDATE rubric_version SET code = $3, practices = $4 WHERE conference_id = $1 AND id = $2',
    [conferenceId, changed.versionId, after.code, JSON.stringify(after.practices)],
  );
  if (after.code !== before.code) {
    await client.query('DELETE FROM duty WHERE conference_id = $1 AND rubric_version_id = $2', [
      conferenceId,
      changed.versionId,
    ]);
    const duties = carriedOver(before.duties, before.code, after.code);
    await insertDuties(client, conferenceId, changed.versionId, duties);
  }
  await appendAudit(client, {
    conferenceId,
    actorId: actor.personId,
    action: 'changed how the conference plays',
    subjectKind: 'rubric_version',
    subjectId: changed.versionId,
    reason: note === '' ? null : note,
    before: { code: before.code, practices: before.practices },
    after: { code: after.code, practices: after.practices },
  });
  return changed;
}
