import { factNames } from '../fact-words.ts';
import type { Foul } from '../fouls.ts';
import { facts as allFacts, type Fact, type Play, type PlayKind } from '../play.ts';
import { downOrdinals } from '../play-in-words.ts';
import { type Position, positionLetter, positions } from '../positions.ts';
import type { SaidContext } from './context.ts';
import { type Draft, laneOf, newDraft, placeOf, placeOfTheKick } from './draft.ts';
import { finish, turnTo } from './finish.ts';
import { meaningAt, nearestTo, wordsBegunBy } from './match-words.ts';
import { spotInWords } from './spots.ts';
import { plain, type Token, tokensOf } from './tokens.ts';
import type { Asks, Meaning } from './vocabulary.ts';

export type { SaidContext } from './context.ts';

/** A part of the line that was understood, and what was taken from it. */
export interface Chip {
  /** Where it stands in the line: offsets of its first character and after its last. */
  readonly from: number;
  readonly to: number;
  readonly text: string;
  readonly facts: Partial<Play>;
  /** In full words; empty for words that only join others. */
  readonly says: string;
}

/** A part that was not understood, with the nearest words. */
export interface Open {
  readonly from: number;
  readonly to: number;
  readonly text: string;
  readonly nearest: readonly string[];
}

export interface Said {
  readonly play: Play;
  /** In the order of the line; together with `open` they cover all of it that is not space. */
  readonly chips: readonly Chip[];
  readonly open: readonly Open[];
}

/**
 * Reads a line of words as somebody says a play: `run left 3`, `pass right 12 out`, `punt 41 fair catch`. Words stand
 * in any order and may be written by any unique beginning; a number belongs to the word before it that asks for one,
 * else it is the gain, or how long a kick was. `proposed` is the play as it starts; what is said prevails over it.
 * Never throws: what is not understood is told in `open`.
 */
export function readWords(line: string, proposed: Play, context: SaidContext): Said {
  const tokens = tokensOf(line);
  const first = new Reading(tokens, proposed, proposed.kind, context);
  first.read();
  const { kind } = first.draft.play;
  // Which words make sense depends on the kind of play, and that may be said last.
  const reading = kind === proposed.kind ? first : new Reading(tokens, proposed, kind, context);
  if (reading !== first) reading.read();
  return reading.result(line, proposed);
}

/** Words that may be meant by a beginning, those said most first. */
export function wordsFor(beginning: string, context: SaidContext, kind: PlayKind = 'run'): string[] {
  return wordsBegunBy(beginning, kind, context);
}

/** What a chip says, perhaps only once the whole line is read; undefined: the words are left open. */
type Says = string | ((play: Play) => string | undefined);
interface Part {
  readonly tokens: readonly Token[];
  readonly says: Says | undefined;
  readonly claims: readonly Fact[];
  readonly nearest: readonly string[];
}

const noteworthy: readonly Fact[] = ['fouls'];

class Reading {
  readonly draft: Draft;
  private readonly parts: Part[] = [];
  private readonly tokens: readonly Token[];
  private readonly kind: PlayKind;
  private readonly context: SaidContext;

  constructor(tokens: readonly Token[], proposed: Play, kind: PlayKind, context: SaidContext) {
    this.tokens = tokens;
    this.kind = kind;
    this.context = context;
    this.draft = newDraft({ ...proposed, ...(proposed.fouls && { fouls: [...proposed.fouls] }) }, context);
    turnTo(this.draft.play, kind, this.draft);
  }

  read(): void {
    for (let at = 0; at < this.tokens.length; ) at += this.one(at);
  }

  /** Reads what begins at one token; how many tokens that were. */
  private one(at: number): number {
    const token = this.tokens[at]!;
    const glued = this.tokens[at + 1];
    if (token.text.toLowerCase() === 'q' && glued?.kind === 'number' && glued.from === token.to) {
      this.draft.asks = 'quarter';
      return this.take([token], '');
    }
    switch (token.kind) {
      case 'clock':
        return this.clock(token);
      case 'number':
        return this.number(at);
      case 'sign':
        return this.sign(at);
      case 'word':
        return this.downAndDistance(at) || this.official(token) || this.team(at, true) || this.word(at);
    }
  }

  private take(
    tokens: readonly Token[],
    says: Says | undefined,
    claims: readonly Fact[] = [],
    nearest: readonly string[] = [],
  ): number {
    this.parts.push({ tokens, says, claims, nearest });
    return tokens.length;
  }

  private clock(token: Token): number {
    const [minutes, seconds] = token.text.split(':').map(Number) as [number, number];
    const all = minutes * 60 + seconds;
    if (seconds > 59 || all > 900) return this.take([token], undefined);
    this.draft.play.clockSeconds = all;
    delete this.draft.play.clockAbout;
    return this.take([token], `clock ${token.text}`, ['clockSeconds']);
  }

  private sign(at: number): number {
    const token = this.tokens[at]!;
    const { draft } = this;
    switch (token.text) {
      case '.':
        // `3.5` and `o.b` are no end of a line.
        if (this.tokens[at - 1]?.to === token.from && this.tokens[at + 1]?.from === token.to) {
          return this.take([token], undefined);
        }
        draft.nothingElse = true;
        return this.take([token], 'nothing else happened');
      case '?':
        return this.question([token]);
      case '@':
        this.at('spot');
        return this.take([token], '');
      case '#':
        draft.asks = 'player';
        return this.take([token], '');
      case ',':
      case ';':
      case '+':
      case '&':
      case '/':
        return this.take([token], '');
      default:
        return this.take([token], undefined);
    }
  }

  /** `2nd and 7`, `1st goal`, `2 & 7`. */
  private downAndDistance(at: number): number {
    const token = this.tokens[at]!;
    const down = downOrdinals.indexOf(token.text.toLowerCase());
    if (down < 1) return 0;
    this.draft.play.down = down;
    this.draft.asks = 'down';
    this.draft.starting = true;
    return this.take([token], `${downOrdinals[down]} down`, ['down']);
  }

  private number(at: number): number {
    const token = this.tokens[at]!;
    const next = this.tokens[at + 1];
    const { draft } = this;
    const value = Number(token.text.replace('−', '-'));
    if (!Number.isInteger(value) || Math.abs(value) > 999) return this.take([token], undefined);
    // `2 & 7`
    const after = this.tokens[at + 2];
    if (value >= 1 && value <= 4 && (next?.text === '&' || next?.text === '/') && after?.kind === 'number') {
      draft.play.down = value;
      draft.asks = 'down';
      draft.starting = true;
      return this.take([token, next], `${downOrdinals[value]} down`, ['down']);
    }
    // `27 lar`: the side of the field may follow.
    if (draft.midfield === undefined && next?.kind === 'word' && value >= 0 && value <= 50) {
      const side = this.sideOfMidfield(at + 1);
      if (side !== undefined) {
        draft.midfield = side;
        return this.yardLine([token, next], value);
      }
    }
    if (draft.midfield !== undefined) return this.yardLine([token], value);
    return this.askedNumber(token, value);
  }

  private askedNumber(token: Token, value: number): number {
    const { draft } = this;
    const { play, asks } = draft;
    if (asks === 'player' && draft.foul) {
      draft.foul.player = String(value);
      draft.asks = undefined;
      return this.take([token], `number ${value}`, ['fouls']);
    }
    if (draft.foul && (asks === undefined || asks === 'player'))
      return this.take([token], `${value} yards`, ['fouls']);
    switch (asks) {
      case 'spot':
      case 'end spot':
      case 'start spot':
      case 'loose spot':
      case 'catch spot':
        return this.yardLine([token], value);
      default:
        draft.asks = undefined;
    }
    switch (asks) {
      case 'loss':
        draft.numbers.push(-Math.abs(value));
        return this.take([token], this.gain(-Math.abs(value)), ['endSpot', 'outOfBounds', 'passResult']);
      case 'depth of the catch':
        if (Math.abs(value) > 50 && value < 0) return this.take([token], undefined);
        play.catchDepth = value;
        return this.take([token], kept('catchDepth', value, depth(value)), ['catchDepth']);
      case 'depth of the release':
        if (value < -50) return this.take([token], undefined);
        play.throwDepth = value;
        return this.take([token], kept('throwDepth', value, depth(value)), ['throwDepth']);
      case 'return':
        draft.returned.yards = value;
        return this.take([token], (whole) => `return of ${value}${this.deadAt(whole)}`, [
          'kickResult',
          'endSpot',
          'outOfBounds',
        ]);
      case 'yards from the sideline':
        play.yardsFromSideline = value;
        return this.take([token], kept('yardsFromSideline', value, String(value)), ['yardsFromSideline']);
      case 'quarter':
        play.quarter = value;
        return this.take([token], kept('quarter', value, String(value)), ['quarter']);
      case 'down':
        play.distance = value;
        return this.take([token], kept('distance', value, `and ${value}`), ['distance']);
      default:
        break;
    }
    const isKick = play.kind === 'punt' || play.kind === 'free kick';
    draft.numbers.push(value);
    if (isKick && draft.numbers.length === 1) {
      return this.take(
        [token],
        (whole) => (whole.kickTo === undefined ? undefined : `${value} yards, to ${this.spot(whole.kickTo)}`),
        ['kickTo', 'endSpot', 'kickResult'],
      );
    }
    const thrownFor = (whole: Play) =>
      whole.passResult === 'incomplete' || whole.passResult === 'intercepted';
    const gain = this.gain(value);
    const place = draft.numbers.length;
    return this.take(
      [token],
      (whole) => {
        // How long a kick at goal was follows from where it was snapped.
        if (whole.kind === 'place kick' || whole.tryBy === 'kick') return `${value} yards`;
        if (thrownFor(whole)) return place === 1 ? `comes down ${depth(value)}` : undefined;
        const ofTwo = isKick || whole.kind === 'pass' || whole.tryBy === 'pass';
        if (place > (ofTwo ? 2 : 1)) return undefined;
        return place === 1 && draft.numbers.length > 1 && !isKick && ofTwo
          ? `caught ${depth(value)}`
          : gain(whole);
      },
      ['endSpot', 'outOfBounds', 'passResult', 'catchDepth', 'kickResult', 'tryBy'],
    );
  }

  private gain(value: number) {
    const words = value === 0 ? 'no gain' : value > 0 ? `gain of ${value}` : `loss of ${-value}`;
    return (whole: Play) =>
      value !== 0 && whole.endSpot === undefined && whole.looseBallSpot === undefined
        ? undefined
        : `${words}${this.deadAt(whole)}`;
  }

  private deadAt(whole: Play): string {
    if (whole.endSpot === undefined) return '';
    return `, dead at ${this.spot(whole.endSpot)}${whole.outOfBounds === false && whole.score !== 'touchdown' ? ' in bounds' : ''}`;
  }

  private spot = (yards: number) => spotInWords(yards, this.draft.play.offense, this.context);

  /** A yard line for the word that asked for one; where none did, where a kick came down or the ball was dead. */
  private yardLine(tokens: readonly Token[], line: number): number {
    const { draft } = this;
    const { play } = draft;
    const isKick = play.kind === 'punt' || play.kind === 'free kick';
    const loose = play.looseBall !== undefined && play.looseBall !== 'none';
    const asks = draft.starting && draft.asks === undefined ? 'start spot' : asAPlace(draft.asks);
    draft.starting = false;
    const comesDown = isKick && !loose && !draft.returned.said && play.kickTo === undefined;
    const ofAFoul = draft.foul !== undefined && asks === 'spot';
    const yards =
      asks === 'spot' && comesDown && !ofAFoul ? placeOfTheKick(draft, line) : placeOf(draft, line, asks);
    draft.asks = undefined;
    draft.midfield = undefined;
    if (yards === undefined) return this.take(tokens, undefined);
    if (ofAFoul) {
      draft.foul!.spot = yards;
      return this.take(tokens, `foul at ${this.spot(yards)}`, ['fouls']);
    }
    const said = (words: string) => `${words} ${this.spot(yards)}`;
    switch (asks) {
      case 'start spot':
        play.spot = yards;
        return this.take(tokens, said('put in play at'), ['spot']);
      case 'loose spot':
        play.looseBallSpot = yards;
        return this.take(tokens, said('loose at'), ['looseBallSpot', 'kickTo', 'kickTouchedBy']);
      case 'catch spot':
        draft.caughtAt = yards;
        play.catchDepth = yards - play.spot;
        return this.take(tokens, said('caught at'), ['catchDepth']);
      case 'spot':
        if (comesDown) {
          play.kickTo = yards;
          return this.take(tokens, said('comes down at'), ['kickTo', 'endSpot', 'kickResult']);
        }
        break;
      default:
        break;
    }
    play.endSpot = yards;
    return this.take(
      tokens,
      (whole) => `dead at ${this.spot(yards)}${whole.outOfBounds === false ? ' in bounds' : ''}`,
      ['endSpot', 'outOfBounds', 'passResult', 'kickResult', 'kickTo'],
    );
  }

  /** Does a word name a side of the field? */
  private sideOfMidfield(at: number): Draft['midfield'] {
    const found = meaningAt(this.tokens, at, this.kind);
    const does = found && 'meaning' in found ? found.meaning.does : undefined;
    if (does && 'midfield' in does && exactly(this.tokens[at]!, found as { meaning: Meaning }))
      return does.midfield;
    const team = this.teamNamed(this.tokens[at]!, false);
    const { offense } = this.draft.play;
    if (team === undefined || offense === undefined) return undefined;
    return team === offense ? 'own' : "opponent's";
  }

  private teamNamed(token: Token, byBeginning: boolean): Play['offense'] {
    const typed = plain(token.text);
    const named = (team: 'home' | 'visitor', fits: (name: string) => boolean) =>
      this.context.teams[team].some((name) => plain(name).split(' ').some(fits) || fits(plain(name)));
    const exact = (name: string) => name === typed;
    const begins = (name: string) => typed.length >= 3 && name.startsWith(typed);
    for (const fits of byBeginning ? [begins] : [exact, begins]) {
      const home = named('home', fits) || (fits === exact && typed === 'home');
      const visitor =
        named('visitor', fits) || (fits === exact && (typed === 'visitor' || typed === 'visitors'));
      if (home !== visitor) return home ? 'home' : 'visitor';
    }
    return undefined;
  }

  private team(at: number, exactOnly: boolean): number {
    const token = this.tokens[at]!;
    const found = meaningAt(this.tokens, at, this.kind);
    const written = found && 'meaning' in found && exactly(token, found);
    const team = this.teamNamed(token, false);
    if (team === undefined || (written && exactOnly)) return 0;
    const { offense } = this.draft.play;
    const name = this.context.teams[team][0] ?? team;
    const side = offense === undefined ? undefined : team === offense ? 'offense' : 'defense';
    if (side === undefined) {
      const { draft } = this;
      if (draft.recovering || draft.askingTimeout || draft.foul) return this.take([token], undefined);
    }
    return this.teamSaid([token], side, name, at + 1, team);
  }

  /** A team was named: who recovered, who took time, who fouled, whose side of the field; else who has the ball. */
  private teamSaid(
    tokens: readonly Token[],
    side: 'offense' | 'defense' | undefined,
    name: string,
    next: number,
    team?: NonNullable<Play['offense']>,
  ): number {
    const { draft } = this;
    const { play } = draft;
    if (draft.recovering && side) {
      draft.recovering = false;
      play.recoveredBy = side;
      return this.take(tokens, `by ${name}`, ['recoveredBy', 'turnover', 'kickResult']);
    }
    if (draft.askingTimeout && side) {
      draft.askingTimeout = false;
      play.timeout = 'team';
      play.timeoutBy = side;
      return this.take(tokens, `of ${name}`, ['timeout', 'timeoutBy']);
    }
    const numberFollows = this.tokens[next]?.kind === 'number';
    if (draft.foul && side && !(numberFollows && draft.asks === 'spot')) {
      draft.foul.by = side;
      return this.take(tokens, `by ${name}`, ['fouls']);
    }
    if (numberFollows && side) {
      draft.midfield = side === 'offense' ? 'own' : "opponent's";
      return this.take(tokens, '');
    }
    if (team === undefined) return this.take(tokens, undefined);
    play.offense = team;
    return this.take(tokens, `${name} has the ball`, ['offense']);
  }

  /** A letter for an official, where one is asked for. */
  private official(token: Token): number {
    const { draft } = this;
    if (token.text.length !== 1 || (!draft.official && !draft.foul)) return 0;
    if (!draft.official && draft.foul?.reportedBy) return 0;
    const position = positions.find((one) => positionLetter[one].toLowerCase() === token.text.toLowerCase());
    if (!position || !this.context.crew.includes(position)) return 0;
    return this.officialSaid([token], position);
  }

  private officialSaid(tokens: readonly Token[], position: Position): number {
    const { draft } = this;
    const asked = draft.official ?? (draft.foul ? 'reportedBy' : 'endedBy');
    draft.official = undefined;
    if (asked === 'reportedBy' && draft.foul) {
      draft.foul.reportedBy = position;
      return this.take(tokens, `called by the ${position}`, ['fouls']);
    }
    const fact = asked === 'reportedBy' ? 'endedBy' : asked;
    draft.play[fact] = position;
    return this.take(tokens, `${factNames[fact]} the ${position}`, [fact]);
  }

  private word(at: number): number {
    const { draft } = this;
    const found = meaningAt(this.tokens, at, this.kind);
    if (found && 'meaning' in found) {
      draft.namingFoul = false;
      return this.meaning(found.meaning, this.tokens.slice(at, at + found.length), at + found.length);
    }
    const token = this.tokens[at]!;
    if (draft.namingFoul && !found) return this.foulNamed(at);
    if (found)
      return this.take(this.tokens.slice(at, at + found.length), undefined, [], found.oneOf.slice(0, 3));
    return this.take([token], undefined, [], nearestTo(token.text, this.kind, this.context));
  }

  /** `foul leaping`: one that is not in the list keeps the name it was given. */
  private foulNamed(at: number): number {
    const named: Token[] = [];
    for (let next = at; next < this.tokens.length; next++) {
      const token = this.tokens[next]!;
      if (token.kind !== 'word' || meaningAt(this.tokens, next, this.kind) !== undefined) break;
      named.push(token);
    }
    this.draft.namingFoul = false;
    const name = named.map(({ text }) => text).join(' ');
    if (name.length > 60) return this.take(named, undefined);
    const foul = this.addFoul({ foul: name, by: 'defense' });
    return this.take(named, () => `${name} by the ${foul.by}`, ['fouls']);
  }

  private addFoul(foul: Foul): Foul {
    const { draft } = this;
    const added = { ...foul };
    draft.foul = added;
    draft.play.fouls = [...(draft.play.fouls ?? []), added].slice(0, 10);
    return added;
  }

  private meaning(meaning: Meaning, tokens: readonly Token[], next: number): number {
    const { draft } = this;
    const { does, says } = meaning;
    const { play } = draft;
    const ofAFoul =
      'foul' in does || 'outcome' in does || 'moment' in does || 'team' in does || 'position' in does;
    const joins = 'act' in does && does.act === 'nothing';
    if (!ofAFoul && !joins && !('official' in does) && !('midfield' in does)) draft.foul = undefined;
    if (!joins && !('midfield' in does) && !('team' in does)) draft.starting = false;
    if (joins && meaning.asks) this.at(meaning.asks);
    else if (meaning.asks) draft.asks = meaning.asks;
    else if (!joins && !('team' in does) && !('midfield' in does)) draft.asks = undefined;

    if ('kind' in does) return this.kindSaid(does, says, tokens);
    if ('facts' in does) return this.factsSaid(meaning, does.facts, tokens);
    if ('side' in does) return this.sideSaid(laneOf(does.side, this.context), tokens);
    if ('lane' in does) {
      draft.lane = does.lane;
      return this.take(tokens, says, [does.lane]);
    }
    if ('foul' in does) {
      const foul = this.addFoul(does.foul);
      if (does.noSnap) turnTo(play, 'no snap', draft);
      return this.take(tokens, () => `${says} by the ${foul.by}`, ['fouls', 'kind']);
    }
    if ('outcome' in does) {
      if (does.outcome === 'offsetting') draft.offsetting = true;
      if (draft.foul) draft.foul.outcome = does.outcome;
      else draft.outcome = does.outcome;
      return this.take(tokens, says, ['fouls']);
    }
    if ('moment' in does) {
      if (!draft.foul) return this.take(tokens, undefined);
      draft.foul.moment = does.moment;
      return this.take(tokens, says, ['fouls']);
    }
    if ('team' in does) return this.teamSaid(tokens, does.team, says, next);
    if ('midfield' in does) {
      if (this.tokens[next]?.kind !== 'number') return this.take(tokens, undefined);
      draft.midfield = does.midfield;
      return this.take(tokens, '');
    }
    if ('position' in does) return this.officialSaid(tokens, does.position);
    if ('official' in does) {
      draft.official = does.official;
      return this.take(tokens, '');
    }
    return this.act(does.act, says, tokens);
  }

  /** `at`, `to`, `from`: what follows is a yard line, of whatever the word before asked for. */
  private at(asks: Asks): void {
    const { draft } = this;
    if (asks !== 'spot') draft.asks = asks;
    else if (draft.starting && draft.asks === undefined) draft.asks = 'start spot';
    else draft.asks = asAPlace(draft.asks);
  }

  private kindSaid(
    { kind, more: facts, tryBy }: Extract<Meaning['does'], { kind: PlayKind }>,
    says: string,
    tokens: readonly Token[],
  ): number {
    const { play } = this.draft;
    const ofATry = play.kind === 'try' && tryBy !== undefined;
    if (ofATry) play.tryBy = tryBy;
    else turnTo(play, kind, this.draft);
    Object.assign(play, facts);
    if (facts?.passResult !== undefined) this.draft.last = 'catch';
    return this.take(tokens, ofATry ? `try by ${tryBy}` : says, [
      ofATry ? 'tryBy' : 'kind',
      ...(Object.keys(facts ?? {}) as Fact[]),
    ]);
  }

  private factsSaid(meaning: Meaning, facts: Partial<Play>, tokens: readonly Token[]): number {
    const { draft } = this;
    const { play } = draft;
    const ofAPass =
      facts.passResult !== undefined ||
      meaning.asks === 'depth of the catch' ||
      meaning.asks === 'depth of the release' ||
      facts.pressure !== undefined;
    if (ofAPass && play.kind === 'run') turnTo(play, 'pass', draft);
    if (ofAPass && play.kind === 'try') play.tryBy = 'pass';
    Object.assign(play, facts);
    if (facts.passResult !== undefined) draft.last = 'catch';
    if (facts.looseBall === 'fumble') draft.last = 'fumble';
    if (facts.lineToGainInQuestion) draft.last = 'line';
    if (meaning.asks === 'return') draft.returned.said = true;
    const claims: Fact[] = ofAPass
      ? ['kind', ...(Object.keys(facts) as Fact[])]
      : (Object.keys(facts) as Fact[]);
    if (meaning.asks === 'depth of the catch' && Object.keys(facts).length === 0) {
      return this.take(tokens, (whole) =>
        whole.catchDepth === undefined ? `${tokens[0]!.text}: say how many yards` : meaning.says,
      );
    }
    // With a helmet off, "no foul" says that it was not by one.
    if (facts.fouls) claims.push('helmetOffByFoul');
    return this.take(tokens, meaning.says, meaning.asks === 'return' ? ['kickResult', ...claims] : claims);
  }

  private sideSaid(lane: ReturnType<typeof laneOf>, tokens: readonly Token[]): number {
    const { draft } = this;
    const place = lane === 'middle' ? 'in the middle' : `on the ${lane.replace(' side', '’s side')}`;
    if (draft.lane !== undefined) {
      const fact = draft.lane;
      draft.lane = undefined;
      draft.play[fact] = lane;
      return this.take(tokens, place, [fact]);
    }
    if (draft.returned.said) draft.returned.sides.push(lane);
    else draft.sides.push(lane);
    const to = lane === 'middle' ? 'to the middle' : `to the ${lane.replace(' side', '’s side')}`;
    const claims: Fact[] = ['playSide', 'kickSide', 'endSide'];
    return this.take(tokens, (whole) => (whole.endSide === lane ? `${to}, dead there` : to), claims);
  }

  private act(
    act: Extract<Meaning['does'], { act: unknown }>['act'],
    says: string,
    tokens: readonly Token[],
  ): number {
    const { draft } = this;
    const { play } = draft;
    switch (act) {
      case 'out':
        draft.out = true;
        return this.take(tokens, says, ['outOfBounds', 'kickResult', 'yardsFromSideline']);
      case 'in':
        draft.out = false;
        return this.take(tokens, says, ['outOfBounds']);
      case 'touchdown':
        draft.touchdown = true;
        if (play.kind === 'pass') draft.last = 'catch';
        return this.take(tokens, says, ['score', 'endSpot', 'outOfBounds', 'passResult', 'kickResult']);
      case 'good':
      case 'no good':
        draft.good = act === 'good';
        return this.take(tokens, says, ['kickResult', 'score', 'endSpot', 'tryBy']);
      case 'question':
        return this.question(tokens);
      case 'short':
        draft.short = true;
        draft.last = 'line';
        return this.take(tokens, says, ['endSpot', 'score', 'outOfBounds']);
      case 'reached':
        draft.reached = true;
        draft.last = 'line';
        return this.take(tokens, says, ['endSpot', 'outOfBounds']);
      case 'recovered':
        draft.recovering = true;
        return this.take(tokens, says, ['recoveredBy']);
      case 'lost':
        draft.lost = true;
        return this.take(tokens, says, ['turnover', 'recoveredBy']);
      case 'time-out':
        draft.askingTimeout = true;
        play.timeout ??= 'team';
        if (play.timeout === 'none') play.timeout = 'team';
        return this.take(tokens, says, ['timeout']);
      case 'nothing else':
        draft.nothingElse = true;
        return this.take(tokens, says);
      case 'goal':
        draft.goal = true;
        return this.take(tokens, says, ['distance']);
      case 'no gain':
        draft.numbers.push(0);
        return this.take(tokens, this.gain(0), ['endSpot', 'outOfBounds', 'passResult']);
      case 'another foul':
        draft.namingFoul = true;
        return this.take(tokens, says);
      case 'nothing':
        return this.take(tokens, '');
    }
  }

  private question(tokens: readonly Token[]): number {
    const { play, last, touchdown } = this.draft;
    const passed = play.kind === 'pass' || play.tryBy === 'pass';
    const fact = {
      catch: 'catchInQuestion',
      line: 'lineToGainInQuestion',
      fumble: 'fumbleOrDown',
    }[last ?? (passed ? 'catch' : 'line')] as 'catchInQuestion' | 'lineToGainInQuestion' | 'fumbleOrDown';
    // No line to gain is left in question by a touchdown.
    if (touchdown && fact === 'lineToGainInQuestion') return this.take(tokens, undefined);
    play[fact] = true;
    return this.take(tokens, factNames[fact], [fact]);
  }

  result(line: string, proposed: Play): Said {
    const play = finish(this.draft);
    const chips: Chip[] = [];
    const open: Open[] = [];
    for (const { tokens, says, claims, nearest } of this.parts) {
      const from = tokens[0]!.from;
      const { to } = tokens.at(-1)!;
      const text = line.slice(from, to);
      const words = typeof says === 'function' ? says(play) : says;
      if (words === undefined) open.push({ from, to, text, nearest });
      else {
        const facts = Object.fromEntries(
          allFacts
            .filter(
              (fact) =>
                claims.includes(fact) &&
                play[fact] !== undefined &&
                (noteworthy.includes(fact) || play[fact] !== proposed[fact]),
            )
            .map((fact) => [fact, play[fact]]),
        ) as Partial<Play>;
        chips.push({ from, to, text, facts, says: words });
      }
    }
    return { play, chips, open };
  }
}

/** What a yard line tells where the word before it asked for yards. */
function asAPlace(asks: Asks | undefined): Asks {
  switch (asks) {
    case 'depth of the catch':
      return 'catch spot';
    case 'start spot':
    case 'loose spot':
    case 'catch spot':
    case 'end spot':
      return asks;
    case 'loss':
      return 'end spot';
    default:
      return 'spot';
  }
}

/** Is the word one of the meaning's, whole? */
const exactly = (token: Token, { meaning }: { meaning: Meaning }) =>
  meaning.words.some((words) => plain(words).split(' ')[0] === plain(token.text));

/** Says so only if the play took the number: the thirteenth quarter is none. */
const kept = (fact: Fact, value: number, words: string) => (whole: Play) =>
  whole[fact] === value ? words : undefined;

const depth = (yards: number) =>
  yards === 0 ? 'at the neutral zone' : `${Math.abs(yards)} ${yards > 0 ? 'beyond' : 'behind'} the line`;
