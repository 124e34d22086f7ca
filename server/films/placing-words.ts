import { clockInWords } from '../football/clock-words.ts';
import { byHand, type Mark, paceBetween, timedMarks } from './placing.ts';

/** What the marks of a film tell, and what is wrong with them. */
interface MarksChecked {
  readonly tone: 'good' | 'warn' | 'bad' | '';
  readonly sentences: readonly string[];
}

const seconds = (value: number) => `${Math.abs(value).toFixed(1)} s`;
type Told = { readonly tone: 'warn' | 'bad'; readonly sentence: string };

/** Holds marks against each other, the log's own film times and its game clock. */
export function checkMarks(marks: readonly Mark[]): MarksChecked {
  const inGame = [...marks].sort((one, other) => one.number - other.number);
  const timed = timedMarks(marks);
  const wrong = pairs(inGame).flatMap(([one, other]) => orderAndClock(one, other));
  const apart = wrong.some(({ tone }) => tone === 'bad')
    ? []
    : pairs(timed).flatMap(([one, other]) => ofLog(one, other));
  const told = [...wrong, ...apart];
  if (told.length > 0) {
    return {
      tone: told.some(({ tone }) => tone === 'bad') ? 'bad' : 'warn',
      sentences: told.map(({ sentence }) => sentence),
    };
  }
  if (marks.length === 0)
    return {
      tone: '',
      sentences: [
        'No play is marked. Plays open at the film time that the log has for them, as if it were of this film.',
      ],
    };
  const [first, last] = [timed[0], timed.at(-1)];
  if (!first || !last)
    return {
      tone: '',
      sentences: [
        'The marked plays have no film time in the log, so only they themselves are found by their marks.',
      ],
    };
  const offset = first.seconds - first.logSeconds;
  const where =
    Math.abs(offset) < 0.05
      ? 'at the log’s times'
      : `${seconds(offset)} ${offset > 0 ? 'later' : 'earlier'} than in the log`;
  return timed.length === 1
    ? {
        tone: '',
        sentences: [
          `By play ${first.number}, plays are ${where}. Mark a second one, far from it, to check that.`,
        ],
      }
    : { tone: 'good', sentences: [`${timed.length} marked plays agree with the log: plays are ${where}.`] };
}

const pairs = <Item>(items: readonly Item[]): [Item, Item][] =>
  items.slice(1).map((item, at) => [items[at]!, item]);

/** Later plays are later in the film, and no film is shorter than its game clock ran. */
function orderAndClock(one: Mark, other: Mark): Told[] {
  const between = other.seconds - one.seconds;
  if (between <= 0)
    return [
      {
        tone: 'bad',
        sentence: `Play ${other.number} is marked at ${clockInWords(other.seconds)}, not after play ${one.number} at ${clockInWords(one.seconds)}: one of the two is wrong.`,
      },
    ];
  const ran =
    one.quarter !== null && one.quarter === other.quarter && one.clock !== null && other.clock !== null
      ? one.clock - other.clock
      : 0;
  return between < ran - byHand && (one.logSeconds === null || other.logSeconds === null)
    ? [
        {
          tone: 'warn',
          sentence: `From play ${one.number} to play ${other.number} the game clock ran ${clockInWords(ran)}, and the film only ${clockInWords(between)}: it has breaks there, or one of the two is marked wrongly.`,
        },
      ]
    : [];
}

type Timed = ReturnType<typeof timedMarks>[number];

function ofLog(one: Timed, other: Timed): Told[] {
  const inLog = other.logSeconds - one.logSeconds;
  const more = other.seconds - one.seconds - inLog;
  if (Math.abs(more) <= byHand) return [];
  const so = `From play ${one.number} to play ${other.number} the film is ${seconds(more)} ${more > 0 ? 'longer' : 'shorter'} than the log’s times`;
  const pace = inLog > 0 ? paceBetween(one, other) : undefined;
  return [
    {
      tone: 'warn',
      sentence:
        pace === undefined
          ? `${so}: it has breaks that the log’s film has not, or the other way round. Plays between them open by play ${one.number}; mark some of them to be exact.`
          : `${so}, ${(Math.abs(pace - 1) * 100).toFixed(2)} %: its clock runs differently, or it has a break. That is shared out between the two; mark a play in the middle to tell which.`,
    },
  ];
}
