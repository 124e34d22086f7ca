import type { Duty } from '../duties/duty.ts';
import type { Refusal } from '../duties/refusals.ts';

/** The change cannot be made; each refusal names the field and the fix. */
export class RubricChangeRefused extends Error {
  override name = 'RubricChangeRefused';
  constructor(readonly refusals: readonly Refusal[]) {
    super(refusals.map(({ field, reason }) => `${field}: ${reason}`).join('; '));
  }
}

/** Somebody changed the duty in the meantime. */
export class RubricChangedMeanwhile extends Error {
  override name = 'RubricChangedMeanwhile';
  constructor(readonly current: Duty | undefined) {
    super(
      current === undefined
        ? 'The duty was removed in the meantime.'
        : 'The duty was changed in the meantime; look at it as it is now and make your change again.',
    );
  }
}

/** Somebody changed what calls weigh in the meantime. */
export class WeightsChangedMeanwhile extends Error {
  override name = 'WeightsChangedMeanwhile';
  constructor() {
    super(
      'The weights were changed in the meantime; look at them as they are now and make your change again.',
    );
  }
}

/** Somebody changed the rules book or the practices in the meantime. */
export class PlayingRulesChangedMeanwhile extends Error {
  override name = 'PlayingRulesChangedMeanwhile';
  constructor() {
    super(
      'How the conference plays was changed in the meantime; look at it as it is now and make your change again.',
    );
  }
}
