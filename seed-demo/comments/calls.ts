/** What an observer writes beside a call: when it was wrong, or a foul was missed, and when it was right. Invented. */
interface CallRemarks {
  readonly notMet: readonly string[];
  readonly right: readonly string[];
}
const remarks = (notMet: readonly string[], right: readonly string[]): CallRemarks => ({ notMet, right });

export const calls: Readonly<Record<string, CallRemarks>> = {
  'call-line-fouls-at-the-snap': remarks(
    ['Tackle moved a beat early, not called.', 'End lined up in the neutral zone, not called.', 'Guard flinched before the snap, not called.'],
    ['Guard twitched with the snap, not before it. Right to let it go.', 'Head of the end just behind the ball: right, no foul.'],
  ),
  'call-holding-at-the-line': remarks(
    ['Clear pull from behind at the point of attack, not called.', 'Takedown in front of the runner, not called.', 'Arm across the chest held the rusher, not called.'],
    ['Hands inside and feet moving: good no-call.', 'Away from the play; a talk was right.'],
  ),
  'call-holding-on-the-edge': remarks(
    ['Receiver held the corner at the edge, not called.', 'Arm around the outside shoulder, not called.', 'Jersey stretched on the edge, not called.'],
    ['Block on the edge was square. Right to pass on it.', 'Defender slipped; good patience.'],
  ),
  'call-holding-on-the-tackles': remarks(
    ['Tackle hooked the rusher, not called.', 'Rusher pulled down from behind, not called.', 'Hand to the collar of the rusher, not called.'],
    ['Rusher gave himself up; good no-call on the tackle.', 'Rip move against open hands: right to leave it.'],
  ),
  'call-holding-of-receivers': remarks(
    ['Receiver held at the break, not called.', 'Jersey pulled as the receiver cut, not called.', 'Second contact after five yards, not called.'],
    ['Contact inside the cut only: right to pass on it.', 'Both hand-fighting, no advantage.'],
  ),
  'call-pass-interference': remarks(
    ['Early contact with the ball in the air, not called.', 'Arm hooked before the ball came, not called.', 'Played through the receiver, not called.'],
    ['Good no-call, both playing the ball.', 'Contact with the ball’s arrival. Right to leave it.'],
  ),
  'call-ineligible-downfield': remarks(
    ['Lineman four yards down at the throw, not called.', 'Center drifted down before the throw, not called.', 'Tackle engaged well down, ball in the air later; not called.'],
    ['Lineman at two yards: right to leave it.', 'Ball was gone before he went down; good look.'],
  ),
  'call-hits-on-the-passer': remarks(
    ['Two full steps after the throw, not called.', 'Contact to the head of the passer, not called.', 'Driven into the ground after the throw, not called.'],
    ['One step and a shoulder: right to leave it.', 'Looked hard from the stands, clean on film.'],
  ),
  'call-grounding': remarks(
    ['Nobody within fifteen yards, passer inside the tackles; not called.', 'Ball landed short of the line, no receiver; not called.', 'No talk with the wings before it was let go.'],
    ['Receiver was in the area; the talk with the wing got it right.', 'Passer was hit as he threw. Right, no grounding.'],
  ),
  'call-illegal-forward-pass': remarks(
    ['Foot clearly over the line at the throw, not called.', 'Passer a yard beyond at the release, not called.', 'Looked away as the passer crossed.'],
    ['Back foot still on the line: right to leave it.', 'Doubt, so a legal pass. Right.'],
  ),
  'call-blocks-on-returns': remarks(
    ['Block in the back in front of him, not called.', 'Block below the waist on the return, not called.', 'Push from behind opened the lane, not called.'],
    ['Hand on the side, not the back: good no-call.', 'Defender turned his back into the block. Right.'],
  ),
  'call-low-blocks': remarks(
    ['Cut from the side away from the ball, not called.', 'Chop on an engaged lineman, not called.', 'Low block after the play had left, not called.'],
    ['Cut from the front inside the tackles: legal, right to leave it.', 'Slipped to the ground, no block. Good look.'],
  ),
  'call-horse-collar-and-face-mask': remarks(
    ['Mask turned on the tackle, not called.', 'Pulled down by the collar from behind, not called.', 'Hand stayed on the mask, not called.'],
    ['Jersey at the shoulder, not the collar. Right.', 'Hand brushed the mask and let go: good no-call.'],
  ),
  'call-kick-catch-interference': remarks(
    ['Gunner arrived with the ball, not called.', 'Returner had to go around a gunner, not called.', 'No room to the side of the returner, not called.'],
    ['Gunner pulled up in time: good no-call.', 'Returner came into the gunner himself. Right.'],
  ),
  'call-hits-on-the-kicker': remarks(
    ['Plant leg taken, not called.', 'Kicker run into after the kick, not called.', 'Holder hit after the kick, not called.'],
    ['Blocked into the kicker: right to leave it.', 'Touched the ball first. Good no-call.'],
  ),
  'call-roughing-the-snapper': remarks(
    ['Snapper hit with his head down, not called.', 'Run over before he could look up, not called.', 'Two rushers on the snapper at once, not called.'],
    ['Snapper was up and blocking: right to leave it.', 'Brushed on the way past, no foul.'],
  ),
  'call-late-hits': remarks(
    ['Shove over the line after the play, not called.', 'Push into the bench area, not called.', 'Second player came in late, not called.'],
    ['Momentum only, hands open: right to leave it.', 'Tackler let go at the line. Good no-call.'],
  ),
  'call-late-hits-in-bounds': remarks(
    ['Dive on the pile after the whistle, not called.', 'Hit on a runner already down, not called.', 'Shoulder into a player away from the ball, not called.'],
    ['Already in the air at the whistle: right to leave it.', 'Piled on by a push from behind. Good look.'],
  ),
  'call-targeting': remarks(
    ['Shoulder to the chest on film, no targeting.', 'The runner lowered himself; no target on film.', 'Crown never met the head on film.'],
    ['Crown of the helmet, right at once.', 'Defenseless and hit high: right call.'],
  ),
  'call-unsportsmanlike': remarks(
    ['A word between friends; a warning would do.', 'Celebration with team-mates only, no foul.', 'Flag in temper, not for an act.'],
    ['Stood over him and pointed. Right.', 'Had been warned twice; right to flag it.'],
  ),
  'call-catch-or-no-catch': remarks(
    ['Ball moved on the ground on film.', 'Film shows the other ruling: control came first.', 'Ruled too soon, before the receiver was down.'],
    ['Saw the ball all the way to the ground.', 'Feet and control, in that order. Right.'],
  ),
  'call-forward-or-backward': remarks(
    ['Film shows the pass the other way.', 'Ruled from behind the throw, and wrong.', 'The line was the passer’s hand, not his feet.'],
    ['Straight down the line; right.', 'Close, and right on film.'],
  ),
  'call-fumble-or-down': remarks(
    ['Film shows the knee and the ball the other way around.', 'Ball already moving before the elbow was down.', 'Ruled down with no view of the ball.'],
    ['Knee, then ball. Right.', 'Let it play out; right on film.'],
  ),
  'rule-pass-or-fumble': remarks(
    ['Film shows the hand the other way.', 'Ruled before the arm was seen.', 'Arm was not yet coming forward on film.'],
    ['Arm was coming forward; right.', 'Empty hand, right ruling.'],
  ),
  'call-touchdown': remarks(
    ['Film shows the ball the other side of the plane.', 'Knee and plane in the wrong order.', 'Ruled from inside the field, and wrong.'],
    ['On the line, looking along it: right.', 'Ball, plane, possession. Right.'],
  ),
  'call-safety': remarks(
    ['Progress was out of the end zone on film.', 'Film shows all of the ball behind the plane.', 'Progress was not the first question.'],
    ['Progress first, then the plane. Right.', 'On the goal line for it; right.'],
  ),
  'call-the-spot': remarks(
    ['Spot a yard long.', 'Half a yard short on film.', 'Knee was down before the reach; spot too long.'],
    ['Spot right to the inch on film.', 'Stayed with the ball, not the body. Right.'],
  ),
  'call-in-or-out': remarks(
    ['Heel on the line earlier on film.', 'Stepped out two yards before the spot.', 'Film shows a shoe in the field.'],
    ['Looked down the line at the feet. Right.', 'Toe on the line, seen at once.'],
  ),
  'call-the-line-to-gain': remarks(
    ['Given as reached; it was a foot short on film.', 'Ruled short; the ball was there.', 'Needed the chains.'],
    ['Certain, and right.', 'Took the nose of the ball. Right.'],
  ),
  'call-kick-touching': remarks(
    ['Film shows the other team touched it first.', 'Touch before the ten yards not seen.', 'Ruled untouched; a finger was on it.'],
    ['Saw the first touch, right.', 'Bag and ruling both right.'],
  ),
  'call-the-uprights': remarks(
    ['Film shows the ball on the other side of the upright.', 'Signal on the flight, before it had passed.', 'Looked up too late at the ball over the upright.'],
    ['Ball over the upright, right all the same.', 'Right under it; sure and together.'],
  ),
}; // biome-ignore format: remarks read better in rows

/** Beside a flag that should have stayed down, by what was called. */
const wrongFlags: readonly (readonly [RegExp, readonly string[]])[] = [
  [/holding|hands to the face/, ['Hands were inside; a legal block on film.', 'No restriction on film.', 'Defender went down by himself.']],
  [/interference with|kick-catch/, ['The gunner pulled up; there was room.', 'The returner came into him.']],
  [/pass interference/, ['Both played the ball; no foul on film.', 'Contact came with the ball.', 'Not catchable.']],
  [/false start|encroachment|offside/, ['He was set on film.', 'Moved with the snap, not before it.', 'No part of him over the ball.']],
  [/formation|shift|motion|ineligible/, ['He was on the line by the others’ measure; talk to him first.', 'Legal on film.', 'Too fine; no advantage.']],
  [/block/, ['Shoulder in front; a legal block.', 'Hands on the side, not the back.']],
  [/roughing|running into|targeting|roughness|collar|mask/, ['Hit was with the shoulder and in time.', 'Came with the play; no foul on film.', 'Pulled by the jersey, nothing more.']],
  [/unsportsmanlike|sideline/, ['A word would have done.', 'Nothing that a warning does not mend.']],
  [/grounding|forward pass/, ['A receiver was in the area.', 'Back foot was still at the line.']],
  [/delay|substitution/, ['The snap came with the zero; let it go.', 'He was off in time on film.']],
]; // biome-ignore format: remarks read better in rows

export function remarksOnAWrongFlag(foul: string): readonly string[] {
  return wrongFlags.find(([called]) => called.test(foul))?.[1] ?? ['Film shows no foul here.'];
}

export const rightFlags: readonly string[] = [
  'Right foul, right number.',
  'Saw all of it, then the flag. Right.',
  'A flag the game needed.',
];
