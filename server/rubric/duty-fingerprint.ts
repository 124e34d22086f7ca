import { createHash } from 'node:crypto';
import { canonicalJson } from '../accounts/audit/canonical-json.ts';
import type { Duty } from '../duties/duty.ts';

/** Changes whenever the duty does: tells whether it is still the one that somebody looked at. */
export function dutyFingerprint(duty: Duty): string {
  return createHash('sha256').update(canonicalJson(duty)).digest('hex').slice(0, 16);
}
