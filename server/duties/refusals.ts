import { crewSizes } from '../football/positions.ts';
import { whyNeverApplies } from './applicability.ts';
import { type Duty, dutySchema, positionsNoCrewHas } from './duty.ts';

/** One reason why a duty is refused: the field at fault and what to do about it. */
export interface Refusal {
  readonly field: string;
  readonly reason: string;
}

type DutyCheck =
  | { readonly ok: true; readonly duty: Duty }
  | { readonly ok: false; readonly refusals: readonly Refusal[] };

/** Validates a duty from a form, a file or the API. Every refusal at once, none of the input lost. */
export function checkDuty(input: unknown): DutyCheck {
  const parsed = dutySchema.safeParse(input);
  if (!parsed.success) {
    return {
      ok: false,
      refusals: parsed.error.issues.map((issue) => ({
        field:
          issue.path.map(String).join('.') ||
          (issue.code === 'unrecognized_keys' ? issue.keys.join(', ') : ''),
        reason: issue.message,
      })),
    };
  }
  const refusals = refusalsOf(parsed.data);
  return refusals.length === 0 ? { ok: true, duty: parsed.data } : { ok: false, refusals };
}

/** What is wrong with a duty as a whole, each part being right. */
export function refusalsOf(duty: Duty): Refusal[] {
  const refusals: Refusal[] = [];
  if (duty.per === 'game') {
    for (const field of ['allOf', 'anyOf', 'unless'] as const) {
      if (duty[field].length > 0)
        refusals.push({ field, reason: 'leave it empty: a duty of the whole game has no situations' });
    }
    if (duty.who !== 'each')
      refusals.push({ field: 'who', reason: 'a duty of the whole game is owed by each of its positions' });
  } else if (duty.allOf.length + duty.anyOf.length === 0) {
    refusals.push({ field: 'allOf', reason: 'name at least one situation that triggers the duty' });
  }
  for (const position of positionsNoCrewHas(duty)) {
    refusals.push({
      field: 'positions',
      reason: `no crew of ${duty.crewSizes.join(', ')} has a ${position}: add a crew size that has one or leave the position out`,
    });
  }
  const sizesTwice = duty.instead.map((other) => other.crewSize);
  for (const size of crewSizes) {
    if (sizesTwice.filter((other) => other === size).length > 1) {
      refusals.push({ field: 'instead', reason: `crew size ${size} is named twice` });
    }
    if (sizesTwice.includes(size) && !duty.crewSizes.includes(size)) {
      refusals.push({ field: 'instead', reason: `crew size ${size} is not among the duty's crew sizes` });
    }
  }
  const contradiction = duty.per === 'game' ? undefined : whyNeverApplies(duty);
  if (contradiction !== undefined)
    refusals.push({ field: 'allOf', reason: `the duty can never apply: ${contradiction}` });
  return refusals;
}

/** Refusals of a whole rubric: those of its duties, and keys used twice. */
export function rubricRefusals(duties: readonly Duty[]): Refusal[] {
  const seen = new Set<string>();
  return duties.flatMap((duty) => {
    const refusals = refusalsOf(duty).map((refusal) => ({
      ...refusal,
      field: `${duty.key}.${refusal.field}`,
    }));
    if (seen.has(duty.key))
      refusals.push({ field: duty.key, reason: `two duties have the key "${duty.key}"` });
    seen.add(duty.key);
    return refusals;
  });
}
