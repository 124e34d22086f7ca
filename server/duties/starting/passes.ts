import { deep, everybody, wings, wingsAndDeep } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

export const passes: StartingDuty[] = [
  {
    key: 'hold-at-the-line',
    title: 'Hold at the line of scrimmage',
    expected: 'hold at the line of scrimmage until the receivers on their side are 10 to 12 yards down',
    positions: wings,
    allOf: ['pass'],
    unless: ['snap-near-goal-line', 'snap-near-own-goal-line', 'kneel-or-spike'],
    weight: 2,
    guidance:
      'Stay with both feet on the line while the receivers go; look at their release, then at the edge of the line. Move down only when they are 10 to 12 yards off or the ball has gone deep. Leaving early gives away the neutral zone, and nobody else can say whether a short pass was caught behind it.',
  },
  {
    key: 'rule-behind-or-beyond',
    title: 'Rule behind or beyond from the line',
    expected:
      'rule from the line whether the catch is behind or beyond the neutral zone, and beyond only when it is clearly beyond',
    positions: wings,
    who: 'on the play side',
    allOf: ['pass'],
    anyOf: ['pass-near-neutral-zone', 'quick-pass-near-the-line'],
    unless: ['snap-near-goal-line', 'snap-near-own-goal-line', 'kneel-or-spike'],
    weight: 3,
    guidance:
      'Your feet mark the line: compare them with where the ball is first touched, not with where the receiver ends up. Beyond brings in interference by the offense and ineligible receivers downfield, a 5-yard foul. When it is not clearly beyond, it is behind.',
    cites: 'ineligible downfield',
  },
  {
    key: 'ineligibles-downfield',
    title: 'Watch ineligible receivers downfield',
    expected: 'watch whether ineligible receivers are downfield before a pass that crosses the neutral zone',
    positions: ['umpire', 'center judge'],
    allOf: ['pass-thrown'],
    anyOf: ['pass-beyond-neutral-zone'],
    unless: ['kneel-or-spike'],
    weight: 2,
    guidance:
      'Read the line at the snap: run blocking with a pass behind it is the warning. Note where the furthest lineman is at the throw, by a yard line or a hash. The pass decides whether it is a foul, so wait until it is touched clearly beyond.',
    cites: 'ineligible downfield',
  },
  {
    key: 'pass-blocking-watch',
    title: 'Watch the blocks on a pass',
    expected: 'watch the blocks of the inside linemen after the snap, not the passer and not the ball',
    positions: ['umpire'],
    allOf: ['pass'],
    unless: ['kneel-or-spike'],
    weight: 2,
    guidance:
      'Read pass at the first step of the guards, then go from the snapper outward to the block that is being lost. Look at hands and feet: inside and moving is legal, outside and pulling is not. Turn only when the ball has been thrown over you; until then a shoulder from the side finds you blind.',
  },
  {
    key: 'signal-the-backward-pass',
    title: 'Signal a backward pass',
    expected: 'signal a backward pass thrown to their side at once and keep the ball alive',
    positions: wings,
    who: 'on the play side',
    allOf: ['backward-pass'],
    weight: 2,
    guidance:
      'From the line look back along it: release point, then first touch. Backward: arm out toward the backfield at once, and no whistle, whatever the players do. If you were not in line to see it, tell the referee after the play.',
    cites: 'backward pass',
  },
  {
    key: 'confer-when-rulings-differ',
    title: 'Confer when the rulings differ',
    expected:
      'bring the crew together when two officials rule differently: catch, in or out, forward or backward, fumble or down, score',
    positions: ['referee', ...wings],
    allOf: ['rulings-differed'],
    weight: 2,
    guidance:
      'Stop the clock, get the two together away from the players, and have a third hold the spot. Who had the best look speaks first: what I saw, from where. Ten seconds together beat a wrong ball; nobody argues in front of a bench.',
  },
  {
    key: 'illegal-forward-pass-only-when-clear',
    title: 'Hold the line for the passer',
    expected:
      'hold the line with the feet when the passer comes toward it, and note where the passer lets go',
    positions: ['line judge'],
    allOf: ['passer-near-neutral-zone'],
    unless: ['kneel-or-spike'],
    weight: 2,
    guidance:
      'When the passer runs toward the line stay on it, so that there is something to measure against. Look at the feet at release, then hold that yard line. A wing who has drifted three yards down can only guess.',
    cites: 'forward pass',
  },
  {
    key: 'help-with-the-passers-foot',
    title: 'Help with a passer at the line',
    expected: 'trail the passer and be able to say from behind where the ball was let go',
    positions: ['referee'],
    allOf: ['passer-near-neutral-zone'],
    unless: ['kneel-or-spike'],
    weight: 1,
    guidance:
      'Follow about five yards behind and to the side, eyes on the passer and whoever is about to hit. Drop a bean bag at the release if you have a view along the line. The line judge decides; what you saw goes to that partner before the flag is announced.',
    cites: 'forward pass',
  },
  {
    key: 'stay-with-the-passer-after-the-throw',
    title: 'Stay with the passer after the throw',
    expected: 'keep eyes on the passer after the throw until no defender can reach the passer',
    positions: ['referee'],
    allOf: ['pass-thrown'],
    unless: ['kneel-or-spike'],
    weight: 3,
    guidance:
      'The ball is not yours: stay eight to ten yards off on the side of the throwing arm and watch who arrives. Say it aloud: "ball is gone". A passer with the arm up cannot protect head or knees, and you are the only one looking.',
  },
  {
    key: 'help-with-grounding',
    title: 'Help with intentional grounding',
    expected:
      'tell the referee whether an eligible receiver was in the area and whether the throw reached the neutral zone',
    positions: ['umpire', ...wings],
    allOf: ['pressure', 'pass-incomplete'],
    weight: 1,
    guidance:
      'Note where the ball came down and who was near it, then come in with that. Two facts only: receiver in the area or not, line reached or not. The referee saw the passer and decides; a flag a little late and right is better than a quick one.',
    cites: 'grounding',
  },
  {
    key: 'both-officials-on-the-catch',
    title: 'Agree on the catch before signalling',
    expected: 'look at the partner before signalling a close catch at the sideline or near the ground',
    positions: everybody,
    who: 'in whose zone the pass comes down',
    allOf: ['pass-thrown', 'catch-in-question'],
    weight: 2,
    guidance:
      'One has the feet, one has the ball: agree on which before the season, not on the play. Stop, look at the partner, a nod, then one signal. A signal and its opposite at the same time is the picture that everybody keeps.',
  },
  {
    key: 'keep-the-cushion',
    title: 'Keep the cushion on deep receivers',
    expected: 'keep the deepest receivers in front, with a cushion that lets the ball and the feet be seen',
    positions: deep,
    crewSizes: [5, 6, 7, 8],
    who: 'in whose zone the pass comes down',
    allOf: ['pass-thrown', 'deep-pass'],
    // From the 5 in, deep officials are on the end line and give no ground.
    unless: ['kneel-or-spike', 'snap-near-goal-line'],
    weight: 2,
    guidance:
      'Leave at the snap and stay ten yards or more ahead of the deepest one. Stop before the ball arrives, square to it, and rule standing still: when you run your eyes jump. Beaten deep, angle to the goal line and give up the catch for the line.',
  },
  {
    key: 'read-the-release-of-receivers',
    title: 'Own receivers at the snap',
    expected: 'watch the release of the receivers on their side through the first yards',
    positions: wingsAndDeep,
    allOf: ['pass'],
    unless: ['kneel-or-spike'],
    weight: 1,
    guidance:
      'Know your key before the snap and watch the first five yards: hands, grabs, a hit on somebody not looking. Stay with the key until the ball is in the air, then go to where it will come down. Eyes that leave early see the catch and miss the foul before it.',
  },
];
