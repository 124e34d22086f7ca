import type { Code } from '../../football/codes.ts';
import { contradictionsIn } from '../../football/contradictions/index.ts';
import { factNames, factValueInWords } from '../../football/fact-words.ts';
import type { Fact, Play } from '../../football/play.ts';
import { loggedFacts, playInWords, resultInWords } from '../../football/play-in-words.ts';
import { ProblemList } from '../csv/problems.ts';
import { linesInWords } from '../lines-in-words.ts';
import type { LogBrought } from '../mapping/bring-log.ts';
import type { WhoIsRight } from '../mapping/merge-logs.ts';
import type { TeamsOfGame } from '../mapping/sides-of-game.ts';

const playsShown = 25;
const changesShown = 60;
const contradictionsShown = 12;

/** What bringing a log in would do, for people: the first plays in words, what is undecided, what would change. */
export function planView(plan: LogBrought, teams: TeamsOfGame & { codeName: Code }, right: WhoIsRight) {
  const say = (play: Play, fact: Fact) =>
    fact === 'offense' && play.offense !== undefined
      ? teams[play.offense].name
      : factValueInWords(play, fact);
  const problems = new ProblemList();
  for (const one of plan.undecided) problems.add(one);
  const changes = plan.after
    .map((after, at) => ({ after, number: at + 1 }))
    .filter(({ after }) => after.id !== undefined && (after.changed || after.differing.length > 0))
    .map(({ after, number }) => ({
      number,
      inWords: playInWords(after.play),
      filled: after.filled.map((fact) => `${factNames[fact]}: ${say(after.play, fact)}`).join('; '),
      differing: after.differing.map(({ fact, inLog, inFile }) => ({
        fact: factNames[fact],
        log: say(inLog, fact),
        file: say(inFile, fact),
      })),
    }));
  const lines = (play: (typeof plan.plays)[number], at: number) => ({
    number: at + 1,
    line: play.line,
    inWords: playInWords(play.play),
    offense: play.play.offense === undefined ? '' : teams[play.play.offense].name,
    result: resultInWords(play.play),
    facts: loggedFacts(play.play).length,
  });
  const contradictions = contradictionsIn(
    plan.plays.map(({ play }, at) => ({ number: at + 1, play })),
    [],
    teams.codeName,
  );
  return {
    contradictions: contradictions.slice(0, contradictionsShown).map(({ number, says }) => ({
      number,
      says,
      line: plan.plays[number - 1]?.line,
    })),
    contradicting: new Set(contradictions.map(({ number }) => number)).size,
    nothingNew: plan.logged > 0 && plan.added + plan.changed + plan.differing === 0,
    count: plan.plays.length,
    skipped: plan.skipped,
    undecided: plan.undecided.length,
    groups: problems.groups.map((group) => ({
      ...group,
      lines: linesInWords(
        group.values.flatMap(({ lines: each }) => each).sort((a, b) => a - b),
        8,
      ),
      texts: group.values.filter(({ value }) => value !== '').map(({ value }) => value),
    })),
    first: plan.plays.slice(0, playsShown).map(lines),
    rest: plan.plays.slice(playsShown).map((play, at) => lines(play, at + playsShown)),
    logged: plan.logged,
    added: plan.added,
    changed: plan.changed,
    onlyInLog: plan.onlyInLog,
    differing: plan.differing,
    changes: changes.slice(0, changesShown),
    moreChanges: Math.max(0, changes.length - changesShown),
    right: { log: right === 'log', file: right === 'file' },
  };
}
