import { describe, expect, it } from 'vitest';
import { commonPractice } from '../../server/duties/duty.ts';
import { rubricRefusals } from '../../server/duties/refusals.ts';
import { startingRubric, startingRubricFor } from '../../server/duties/starting-rubric.ts';
import { rulesBooks } from '../../server/football/citations.ts';
import { type Code, codeFacts, codes } from '../../server/football/codes.ts';

// What the design notes ask the first rubric to cover, point by point. Common practice, no source.
const covered: Record<string, string[]> = {
  'wing on or outside the sideline, squares to the field, comes in at pace': [
    'stay-outside-the-sideline',
    'square-up-at-the-spot',
  ],
  'progress spot held by the feet': ['hold-progress-with-the-feet'],
  'line to gain: at the spot, clock stopped only when certain, else dead ball': [
    'get-to-the-spot-at-the-line-to-gain',
  ],
  'one official decides reached or measure': ['decide-reached-or-measure'],
  'dead-ball signal for the play-clock operator': ['dead-ball-signal'],
  'who whistles stops the clock': ['stop-the-clock'],
  'shutting a play down loud and visible': ['shut-the-play-down'],
  'whistle only when the ball is seen dead': ['whistle-only-when-seen-dead'],
  'goal line at the snap, and back out when short': ['goal-line-at-the-snap', 'come-back-out-when-short'],
  'play straight at the wing on the goal line': ['give-ground-on-the-goal-line'],
  'reverse goal line': ['reverse-goal-line', 'rule-on-the-safety'],
  'hold at the line until receivers are 10 to 12 yards down': ['hold-at-the-line'],
  'behind or beyond the neutral zone': ['rule-behind-or-beyond', 'ineligibles-downfield'],
  'backward or forward, and the crew confers': ['signal-the-backward-pass', 'confer-when-rulings-differ'],
  'illegal forward pass only when clearly beyond': ['illegal-forward-pass-only-when-clear'],
  'referee has the quarterback, then the wing': [
    'quarterback-to-the-neutral-zone',
    'pick-up-the-running-quarterback',
  ],
  'umpire on the blocks behind the line': ['blocks-behind-the-line'],
  'wing reads pressure and gives ground': ['give-ground-under-pressure'],
  'free kicks: sideline, ahead of the runner, progress, first touching': [
    'free-kick-sideline',
    'free-kick-ahead-of-the-runner',
    'free-kick-progress',
    'bag-first-touching',
  ],
  'players out of bounds, and others who clean up': [
    'eyes-on-players-out-of-bounds',
    'nearest-others-clean-up',
  ],
  'a moment before turning for a ball': ['wait-before-turning-for-a-ball'],
  'players watched after a score': ['watch-players-after-a-score'],
  'stop before reaching players': ['stop-before-the-players'],
  'loose ball: bean bag, dig in safely': ['bean-bag-at-the-fumble', 'dig-for-possession'],
  'fouls reported, announced, offsetting shown, choice confirmed': [
    'report-the-foul',
    'announce-every-foul',
    'offsetting-signal',
    'confirm-the-choice',
  ],
  'helmet off with no foul': ['helmet-off'],
  'composure, restricted area': ['composure-with-coaches', 'restricted-area-clear'],
  'before the snap: counts, formation, keys, shifts, free rush': [
    'count-the-offense',
    'count-the-defense',
    'formation-and-eligible-numbers',
    'keys-by-formation',
    'shift-and-motion',
    'motion-is-the-wings',
    'unabated-to-the-quarterback',
  ],
  'the clock': [
    'two-minute-management',
    'ten-second-runoff',
    'wind-or-snap',
    'inadvertent-whistle',
    'replay-communication',
  ],
  'referee on the passer': [
    'rule-pass-or-fumble',
    'sack-fumble',
    'call-holding-on-the-tackles',
    'help-with-the-passers-foot',
  ],
  kicks: [
    'onside-alignment',
    'call-kick-touching',
    'fair-catch-signal-seen',
    'kick-ends-bag',
    'momentum-spot',
    'call-kick-catch-interference',
    'restraining-lines',
    'free-kick-ready-and-clock',
    'ball-crossing-the-neutral-zone-on-a-kick',
  ],
  'safety and conduct': [
    'call-targeting',
    'call-unsportsmanlike',
    'sideline-warning',
    'call-horse-collar-and-face-mask',
    'call-low-blocks',
    'call-holding-of-receivers',
    'call-roughing-the-snapper',
    'call-late-hits-in-bounds',
  ],
  administration: ['enforcement-spot-and-down', 'down-box-and-chains', 'ball-relay'],
  'the whole game': [
    'pre-game',
    'appearance',
    'fitness-and-movement',
    'crew-communication',
    'game-management',
  ],
  'calls: fouls called and not called': [
    'call-the-fouls-reported',
    'call-pass-interference',
    'call-holding-at-the-line',
  ],
  'calls: catch, fumble or down, touchdown, spot': [
    'call-catch-or-no-catch',
    'call-fumble-or-down',
    'call-touchdown',
    'call-the-spot',
  ],
};

describe('the starting rubric', () => {
  it.each(Object.entries(covered))('covers: %s', (_what, keys) => {
    const here = new Set(startingRubric.map((duty) => duty.key));
    for (const key of keys) expect(here).toContain(key);
  });

  it('grades calls as calls and mechanics as mechanics', () => {
    for (const { key, category, gradedAs } of startingRubric) {
      expect([key, gradedAs]).toEqual([key, category === 'calls' ? 'call' : 'mechanics']);
    }
  });

  describe.each(codes)('of %s', (code) => {
    const rubric = startingRubricFor(code);
    const other = codes.find((one) => one !== code)!;

    it('says where each duty comes from: common practice, or the book of this code with a number to be checked', () => {
      for (const { key, source } of rubric) {
        if (source === commonPractice) continue;
        expect(source, key).toMatch(/^(common practice; the rule behind it: )?(NCAA|NFHS) Football Rules, /);
        expect(source, key).toContain(rulesBooks[code]);
        expect(source, key).not.toContain(rulesBooks[other]);
        expect(source, key).toMatch(
          /, (rule [^ ]+( and [^ ]+)?( \(number from memory\))?|from memory); check the current edition$/,
        );
      }
    });

    it('cites a rule for every call on a foul, a possession, a line or a score', () => {
      const uncited = rubric.filter(
        ({ category, source }) => category === 'calls' && source === commonPractice,
      );
      expect(uncited.map(({ key }) => key)).toEqual(['call-the-fouls-reported']);
    });

    it('teaches in every guidance: two to five sentences, and no unexplained letters', () => {
      for (const { key, guidance, title } of rubric) {
        const sentences = guidance.split(/[.!?]["”]?(?:\s|$)/).filter((part) => part.trim() !== '');
        expect(sentences.length, key).toBeGreaterThanOrEqual(2);
        expect(sentences.length, key).toBeLessThanOrEqual(5);
        expect(guidance, key).not.toMatch(/\b[A-Z]{2,}\b/);
        expect(title.length, key).toBeLessThanOrEqual(50);
      }
    });

    it('is accepted as a rubric', () => {
      expect(rubricRefusals(rubric)).toEqual([]);
    });
  });

  it('has what only one code has in that code only', () => {
    const keys = (code: Code) => new Set(startingRubricFor(code).map(({ key }) => key));
    const college = [...keys('college')].filter((key) => !keys('high school').has(key));
    expect(college.sort()).toEqual(['replay-communication', 'ten-second-runoff']);
    expect([...keys('high school')].filter((key) => !keys('college').has(key))).toEqual([]);
  });

  it('says late in a half only where the code stops the clock for a first down only then', () => {
    const guidance = (code: Code) =>
      startingRubricFor(code).find(({ key }) => key === 'stop-the-clock')!.guidance;
    for (const code of codes) {
      const late = codeFacts[code].firstDownStopsClock === 'late in a half';
      expect(guidance(code).includes('only late in a half')).toBe(late);
    }
  });
});
