import { describe, expect, it } from 'vitest';
import { startingRubric } from '../../server/duties/starting-rubric.ts';

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
  'backward or forward, and the crew confers': ['signal-the-backward-pass', 'confer-on-forward-or-backward'],
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

  it('cites what it does not have from common practice', () => {
    const cited = startingRubric.filter((duty) => duty.source !== 'common practice, no source');
    expect(cited.map((duty) => duty.key)).toEqual(['helmet-off']);
    expect(cited[0]!.source).toContain('check the current book');
  });
});
