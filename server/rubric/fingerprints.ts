import { createHash } from 'node:crypto';
import { canonicalJson } from '../accounts/audit/canonical-json.ts';
import type { Duty } from '../duties/duty.ts';
import type { PlayingRules } from './rubric.ts';

/** Changes whenever the duty does: tells whether it is still the one that somebody looked at. */
export function dutyFingerprint(duty: Duty): string {
  return fingerprint(duty);
}

/** The same of a rubric's rules book and practices. */
export function rulesFingerprint({ code, practices }: PlayingRules): string {
  return fingerprint({ code, practices });
}

function fingerprint(value: unknown): string {
  return createHash('sha256').update(canonicalJson(value)).digest('hex').slice(0, 16);
}
