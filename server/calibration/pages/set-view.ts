import { fullName, peopleInRoles, readPeople } from '../../accounts/people-names.ts';
import type { Session } from '../../accounts/session.ts';
import type { Database } from '../../database/database.ts';
import { playInWords } from '../../football/play-in-words.ts';
import { positions } from '../../football/positions.ts';
import type { Panel } from '../../grading/agreement/panel.ts';
import { readPlayFacts } from '../../programs/stores/play-facts.ts';
import { listPrograms } from '../../programs/stores/program-store.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { capital } from '../../web/format.ts';
import type { CalibrationSet } from '../calibration.ts';
import { readFilmedGames } from '../choose-clips.ts';
import { inSeverity } from '../in-severity.ts';
import { readPanel, titlesOf } from '../results.ts';
import { readSet } from '../stores/set-rows.ts';
import { clipsWithoutFilm } from '../stores/set-store.ts';
import { stateTone } from './set-list-pages.ts';

/** A set as its coordinator sees it. */
export async function setView(database: Database, { conferenceId, timeZone }: Session, setId: string) {
  const { pool } = database;
  const set = await readSet(pool, conferenceId, setId);
  const people = await readPeople(database, conferenceId);
  const nameOf = (id: string) => {
    const person = people.get(id);
    return person ? fullName(person) : 'somebody who left';
  };
  const facts = await readPlayFacts(pool, conferenceId, [...new Set(set.clips.map(({ playId }) => playId))]);
  const draft = set.state === 'draft';
  const lacking = draft ? await clipsWithoutFilm(pool, conferenceId, set) : new Map<number, string>();
  const panel = await readPanel(pool, conferenceId, set);
  const season = await seasonOf(database, conferenceId, set.seasonId);
  const clipWords = (number: number) => {
    const clip = set.clips.find((one) => one.number === number)!;
    const of = facts.get(clip.playId);
    return of ? playInWords(of.play) : 'A play that its log no longer has';
  };
  return {
    set: { ...set, tone: stateTone[set.state] },
    draft,
    open: set.state === 'open',
    closed: set.state === 'closed',
    timeZone,
    season,
    inSeverity: inSeverity(season, set),
    clips: set.clips.map((clip) => {
      const of = facts.get(clip.playId);
      return {
        ...clip,
        inWords: clipWords(clip.number),
        where: of ? `${of.game}, week ${of.week}, play ${of.number}` : '',
        lacking: lacking.get(clip.number),
        asks: clip.items.length,
      };
    }),
    observers: set.observers
      .map((one) => ({ ...one, name: nameOf(one.observerId), done: one.doneAt !== null }))
      .sort((a, b) => Number(a.done) - Number(b.done) || (a.name < b.name ? -1 : 1)),
    waiting: set.observers.filter(({ doneAt }) => doneAt === null).length,
    ...(draft ? await choices(database, conferenceId, set) : {}),
    panel: panel && panelView(set, panel, nameOf, clipWords),
  };
}

/** What can be put into a draft, and who can be asked. */
async function choices(database: Database, conferenceId: string, { seasonId }: CalibrationSet) {
  const { pool } = database;
  return {
    canAsk: await peopleInRoles(database, conferenceId, ['observer']),
    programs: (await listPrograms(pool, conferenceId, seasonId)).filter(({ edition }) => edition > 0),
    games: await readFilmedGames(pool, conferenceId, seasonId),
    positions: positions.map((id) => ({ id, name: capital(id) })),
  };
}

/** A panel in the words of its page. Names of observers are for the coordinator; none of an official is in it. */
function panelView(
  set: CalibrationSet,
  panel: Panel,
  nameOf: (id: string) => string,
  clipWords: (number: number) => string,
) {
  const titles = titlesOf(set);
  return {
    overall: panel.overall,
    handedIn: panel.observers.length,
    splits: panel.units
      .filter(({ split }) => split)
      .map((unit) => ({
        ...unit,
        title: titles.get(unit.duty) ?? unit.duty,
        inWords: clipWords(unit.clip),
        most: Math.max(unit.met, unit.notMet),
        fewest: Math.min(unit.met, unit.notMet),
        mostDone: unit.met >= unit.notMet,
      })),
    duties: panel.duties
      .map((one) => ({ ...one, title: titles.get(one.duty) ?? one.duty }))
      .sort((a, b) => (a.agreement.value ?? 2) - (b.agreement.value ?? 2) || (a.title < b.title ? -1 : 1)),
    observers: panel.observers
      .map((one) => ({
        ...one,
        name: nameOf(one.observer),
        // A half is what the panel as a whole would mark: who lies wholly to one side differs beyond chance.
        leaning:
          one.severity === null || (one.severity.low <= 50 && one.severity.high >= 50)
            ? null
            : one.severity.of100 > 50
              ? 'stricter'
              : 'milder',
      }))
      .sort((a, b) => (b.severity?.of100 ?? 50) - (a.severity?.of100 ?? 50) || (a.name < b.name ? -1 : 1)),
  };
}
