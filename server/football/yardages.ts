/** Distances that mechanics and rulings turn on, in yards. Common practice, no source. */

/** The wings start a snap on the goal line from here in. */
export const goalLineZone = 5;
/** Reverse goal line: the ball is snapped between the offense's goal line and its own 5. */
export const reverseGoalLineZone = 5;
/** Wings hold at the line of scrimmage until receivers on their side are this far down. */
export const wingsHoldUntil = { from: 10, to: 12 } as const;
/** How far down the sideline the line judge covers a free kick's runner. */
export const lineJudgeFreeKickCoverage = 15;
/** A catch this near the neutral zone makes behind-or-beyond a ruling that has to be seen. */
export const nearNeutralZone = 2;
/** A quick pass caught up to here is still ruled on from the line. */
export const quickPassNear = 4;
/** So near a sideline everybody looks to the official there for the clock. */
export const nearSideline = 5;
/** A kick that comes down this near the neutral zone may not have crossed it. */
export const shortKick = 5;
/** From here on a pass belongs to the deep officials. */
export const deepPass = 15;
/** A dead ball further beyond the neutral zone than this is ended by a deep official. */
export const wingsEndPlaysTo = 15;
/** A spot this near the line to gain puts it in question when nobody logged whether it was. */
export const lineToGainMargin = 1;
/** Penalty distances that guidance mentions. */
export const penaltyYards = { 'ineligible receiver downfield': 5, 'horse collar': 15 } as const;
