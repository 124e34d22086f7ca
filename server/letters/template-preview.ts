import type pg from 'pg';
import { fullName } from '../accounts/people-names.ts';
import { groundsOfFigures, type SeasonResults } from '../results/season-results.ts';
import { notFound, Problem } from '../web/problem.ts';
import { dayIn } from '../web/today.ts';
import { lastDayToAnswer } from './answering.ts';
import { gameReportOf } from './game-report-of-season.ts';
import { readReleasedGame, releasedGamesOf } from './game-report-store.ts';
import type { TemplateKind } from './letter-data.ts';
import { letterOfSeason, officialsOf } from './letter-of-season.ts';
import { seasonBookOf } from './season-book-of-season.ts';
import { type LetterSeason, readLetterSeason } from './season-source.ts';

interface Preview {
  kind: TemplateKind;
  seasonId: string;
  /** Whose letter to show; null: the first official with a released report. */
  personId: string | null;
}

/** Shows a template on a real official's figures, reading a season once for many keystrokes. */
export class TemplatePreviews {
  private readonly pool: pg.Pool;
  private readonly results: SeasonResults;
  private readonly answerPage: string;
  private kept: { key: string; season: LetterSeason } | null = null;

  constructor(pool: pg.Pool, results: SeasonResults, answerPage: string) {
    this.pool = pool;
    this.results = results;
    this.answerPage = answerPage;
  }

  /** @throws Problem 404 when there is nobody to show it for. */
  async data(
    who: { conferenceId: string; timeZone: string; givenName: string; familyName: string },
    { kind, seasonId, personId }: Preview,
  ): Promise<object> {
    const season = await this.season(who.conferenceId, seasonId);
    const official = personId ?? officialsOf(season)[0]?.personId;
    if (!official) throw notFound('official with a released report');
    const coordinator = fullName(who);
    const issuedOn = dayIn(who.timeZone);
    if (kind === 'season-book') return seasonBookOf(season, { issuedOn, coordinator });
    if (kind === 'game-report') {
      const game = (await releasedGamesOf(this.pool, who.conferenceId, official)).find(
        (one) => one.seasonId === seasonId,
      );
      const data =
        game &&
        gameReportOf(
          await readReleasedGame(this.pool, who.conferenceId, game.gameId),
          official,
          this.answerPage,
        );
      if (!data) throw notFound('released game');
      return data;
    }
    return letterOfSeason(season, official, {
      kind,
      issuedOn,
      replyBy: lastDayToAnswer(issuedOn, season.conference.replyDays),
      answerPage: this.answerPage,
      coordinator,
    });
  }

  /** The data of a few officials of the season, for a template to be tried on; none where nothing is released yet. */
  async some(
    who: Parameters<TemplatePreviews['data']>[0],
    kind: TemplateKind,
    seasonId: string,
  ): Promise<object[]> {
    const officials = officialsOf(await this.season(who.conferenceId, seasonId));
    const chosen = new Set(
      [0, officials.length >> 1, officials.length - 1].map((at) => officials[at]?.personId),
    );
    const found: object[] = [];
    for (const personId of kind === 'season-book' ? [...chosen].slice(0, 1) : chosen) {
      if (!personId) continue;
      try {
        found.push(await this.data(who, { kind, seasonId, personId }));
      } catch (error) {
        // Nothing to write to this one about.
        if (!(error instanceof Problem) || error.status !== 404) throw error;
      }
    }
    return found;
  }

  private async season(conferenceId: string, seasonId: string): Promise<LetterSeason> {
    const { rows } = await this.pool.query<{ grounds: string }>(
      `SELECT (${groundsOfFigures})::text AS grounds FROM season s WHERE s.conference_id = $1 AND s.id = $2`,
      [conferenceId, seasonId],
    );
    const key = `${conferenceId} ${seasonId} ${rows[0]?.grounds}`;
    if (this.kept?.key === key) return this.kept.season;
    const season = await readLetterSeason(this.pool, this.results, conferenceId, seasonId);
    if (!season) throw notFound('season');
    this.kept = { key, season };
    return season;
  }
}
