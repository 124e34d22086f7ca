import { z } from 'zod';
import type { PersonActing } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import {
  type ConsequenceWeights,
  consequences,
  leastConsequenceWeight,
  mostConsequenceWeight,
} from '../duties/consequence.ts';
import { readRubric } from './read-rubric.ts';
import { RubricChangeRefused, WeightsChangedMeanwhile } from './refusals.ts';
import { lockVersionToChange, type RubricChanged, versionToChange } from './versions.ts';

const weightOf = (consequence: string) =>
  z.coerce
    .number(`${consequence} must be a number, such as 2.5`)
    .min(leastConsequenceWeight, `${consequence} must be at least ${leastConsequenceWeight}`)
    .max(mostConsequenceWeight, `${consequence} must be at most ${mostConsequenceWeight}`);

/** How many times its duty's weight a call of each consequence costs. */
export const consequenceWeightsSchema = z.strictObject({
  none: weightOf('none'),
  yards: weightOf('yards'),
  possession: weightOf('possession'),
  score: weightOf('score'),
});

const sameWeights = (one: ConsequenceWeights, other: ConsequenceWeights): boolean =>
  consequences.every((consequence) => one[consequence] === other[consequence]);

/**
 * Changes what calls weigh by their consequence, as `changeRubric` changes a duty's weight: the current version itself
 * while no report was filed with it, afterwards a new version, so that filed reports keep the weights they were filed
 * with. `seen` are the weights that the change was based on.
 * @throws RubricChangeRefused when nothing would change or there is no rubric; WeightsChangedMeanwhile.
 */
export async function changeConsequenceWeights(
  client: Queryable,
  actor: PersonActing,
  seasonId: string,
  change: { readonly weights: ConsequenceWeights; readonly seen: ConsequenceWeights },
  note = '',
): Promise<RubricChanged> {
  const { conferenceId } = actor;
  const { weights, seen } = change;
  const current = await lockVersionToChange(client, conferenceId, seasonId);
  const before = (await readRubric(client, conferenceId, seasonId))!.consequenceWeights;
  if (!sameWeights(before, seen)) throw new WeightsChangedMeanwhile();
  if (sameWeights(before, weights)) {
    throw new RubricChangeRefused([{ field: 'weights', reason: 'are these already; change one of them' }]);
  }
  const changed = await versionToChange(client, actor, current, note);
  await client.query(
    `UPDATE rubric_version SET none_weight = $3, yards_weight = $4, possession_weight = $5, score_weight = $6
      WHERE conference_id = $1 AND id = $2`,
    [conferenceId, changed.versionId, ...consequences.map((consequence) => weights[consequence])],
  );
  await appendAudit(client, {
    conferenceId,
    actorId: actor.personId,
    action: 'weights of consequences changed',
    subjectKind: 'rubric_version',
    subjectId: changed.versionId,
    reason: note === '' ? null : note,
    before,
    after: weights,
  });
  return changed;
}
