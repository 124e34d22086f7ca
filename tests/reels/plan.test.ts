import { expect, test } from 'vitest';
import type { EditionContent, EditionPlay } from '../../server/programs/edition.ts';
import { planReel } from '../../server/reels/plan/plan-reel.ts';
import { planSchema } from '../../server/reels/plan/reel-plan.ts';
import { defaultCut } from '../../server/timeline/default-cut.ts';

const play = (number: number, topic: string, more: Partial<EditionPlay> = {}): EditionPlay => ({
  ...{ number, topic, aspect: 'keys', showing: 'good', position: 'umpire', duty: null },
  ...{ situation: '3rd and 7 at own 34: pass', result: 'incomplete', owed: [], answer: 'Step up.' },
  ...{ answeredOn: '2026-09-01', ruleCited: '7-3', mechanicCited: '', twoMechanics: false },
  ...{ keys: [`Key of ${number}`], question: '', choices: [], narration: '', secondsBefore: 4 },
  ...{ secondsAfter: 6, hasFilm: true },
  ...more,
});
const content = (plays: EditionPlay[]): EditionContent => ({
  ...{ conference: 'Prairie Conference', title: 'Eyes', goal: 'Look.', audience: 'everybody' },
  ...{ code: 'college', minutes: 10, plays },
});
const cut = defaultCut({ id: '5d0bf2cc-0f4c-4d3e-9a3f-0f9b8d7c1a11', seconds: 100 }, 50, {
  secondsBefore: 4,
  secondsAfter: 6,
})!;
const kinds = (plan: ReturnType<typeof planReel>) =>
  plan.segments.map((one) => (one.kind === 'card' ? one.card.kind : `play ${one.play}`));
const asked = {
  question: 'Who goes?',
  choices: [
    { text: 'The umpire', right: true },
    { text: 'Nobody', right: false },
  ],
};

test('a reel opens, tells each topic, shows each play, asks before it answers, and closes', () => {
  const plan = planReel(content([play(1, 'Spot'), play(2, 'Spot', asked), play(3, 'Count')]), 2, () => ({
    cut,
  }));
  expect(kinds(plan)).toEqual([
    ...['title', 'topic', 'play 1', 'answer', 'play 2', 'question', 'answer', 'topic end'],
    ...['topic', 'play 3', 'answer', 'closing'],
  ]);
  expect(plan.segments.flatMap(({ chapter }) => chapter ?? [])).toEqual([
    ...['Opening', 'Play 1, Spot', 'Play 2, Spot', 'Play 3, Count', 'Closing'],
  ]);
  expect(plan.segments.filter(({ stops }) => stops)).toHaveLength(1);
  expect(planSchema.parse(JSON.parse(JSON.stringify(plan)))).toEqual(plan);
});

test('a question may stand between two shots', () => {
  const [shot] = cut.shots;
  const two = { ...cut, shots: [shot!, { ...shot!, slow: 2 }], questionAfter: 1 };
  expect(kinds(planReel(content([play(1, '', asked)]), 1, () => ({ cut: two })))).toEqual([
    ...['title', 'play 1', 'question', 'play 1', 'answer', 'closing'],
  ]);
});

test('a play without film is a card that says why, and is named at the end', () => {
  const plan = planReel(content([play(1, ''), play(2, '')]), null, (number) =>
    number === 2 ? { lacking: 'There is no film of its game here.' } : { cut },
  );
  expect(kinds(plan)).toEqual(['title', 'play 1', 'answer', 'no film', 'answer', 'closing']);
  const words = JSON.stringify(plan);
  expect(words).toContain('Shown without film: play 2.');
  expect(words).toContain('There is no film of its game here.');
  expect(words).toContain('Private preview, for the coordinator alone');
  expect(words).toContain('current rules book and the officials’ manual hold');
  // Whoever finds the file learns of no conference.
  expect(words).not.toContain('Prairie');
});
