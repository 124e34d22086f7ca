import { expect, test } from 'vitest';
import {
  type ReportState,
  reportStates,
  reportSteps,
  StepRefused,
  stateAfter,
  stepsFrom,
} from '../../server/reports/states.ts';
import { handedIn, unfiledStates } from '../../server/schedule/open-states.ts';

// The whole table: which step each state allows and where it leads. Anything else is refused.
const allowed: Record<ReportState, Record<string, ReportState>> = {
  draft: { file: 'filed' },
  filed: { return: 'returned', accept: 'accepted' },
  returned: { file: 'filed' },
  accepted: { return: 'returned', release: 'released' },
  released: { revise: 'released' },
};

for (const state of reportStates) {
  for (const step of reportSteps) {
    const to = allowed[state][step];
    test(`${step} from ${state} ${to ? `leads to ${to}` : 'is refused'}`, () => {
      if (to) expect(stateAfter(state, step, 'a reason')).toBe(to);
      else expect(() => stateAfter(state, step, 'a reason')).toThrow(StepRefused);
    });
  }
}

test('returning and revising need a reason', () => {
  expect(() => stateAfter('filed', 'return', '  ')).toThrow(/reason/);
  expect(() => stateAfter('released', 'revise')).toThrow(/reason/);
});

test('a report is handed in from its filing on, unless it was returned', () => {
  const toFile = reportStates.filter((state) => stepsFrom(state, 'observer').includes('file'));
  expect(reportStates.filter((state) => !toFile.includes(state))).toEqual(handedIn);
  expect(unfiledStates).toBe(`(${toFile.map((state) => `'${state}'`).join(', ')})`);
});

test('each role sees only its own steps', () => {
  expect(stepsFrom('draft', 'observer')).toEqual(['file']);
  expect(stepsFrom('draft', 'coordinator')).toEqual([]);
  expect(stepsFrom('filed', 'coordinator')).toEqual(['return', 'accept']);
});
