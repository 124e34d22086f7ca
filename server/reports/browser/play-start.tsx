import type { ComponentChildren } from 'preact';
import { type GameTeams, shortTeams, yardLineOf } from '../../football/game-teams.ts';
import type { Play } from '../../football/play.ts';
import { downOrdinals } from '../../football/play-in-words.ts';
import { clockText } from '../entry/play-fields.ts';

interface Props {
  play: Play;
  teams: GameTeams;
  open: boolean;
  onOffense(team: 'home' | 'visitor'): void;
  /** The fields to correct it with. */
  children: ComponentChildren;
}

/** What the play starts from, proposed from the one before, in one line that opens to be corrected. */
export function PlayStart({ play, teams, open, onOffense, children }: Props) {
  const short = shortTeams(teams);
  const verb = play.kind === 'free kick' ? 'kicks' : 'has the ball';
  return (
    <>
      <details class="play-start">
        <summary>
          <span>{startInWords(play, teams)}</span>
          {open && <small>correct</small>}
        </summary>
        <div class="fact-row">{children}</div>
      </details>
      {play.offense === undefined && open && (
        <fieldset class="chips" data-arrows>
          <legend>Who {verb}?</legend>
          {(['visitor', 'home'] as const).map((team) => (
            <button key={team} type="button" class="chip" onClick={() => onOffense(team)}>
              <span>{short[team]}</span>
              <small> {verb}</small>
            </button>
          ))}
        </fieldset>
      )}
    </>
  );
}

/** `Q1 14:20, 2nd and 7 at LAR 30, LAR has the ball` */
function startInWords(play: Play, teams: GameTeams): string {
  const { quarter, clockSeconds, clockAbout, down, distance, spot, offense } = play;
  const when = [
    quarter === undefined ? '' : quarter > 4 ? `Overtime ${quarter - 4}` : `Q${quarter}`,
    clockSeconds === undefined && clockAbout !== undefined
      ? `about ${clockText(clockAbout)}`
      : clockText(clockSeconds),
  ];
  const toGo = distance === undefined ? '' : ` and ${spot + distance >= 100 ? 'goal' : distance}`;
  const where = yardLineOf(spot, offense, teams);
  const noDown = play.kind === 'free kick' ? 'Free kick' : play.kind === 'try' ? 'Try' : '';
  const start = down === undefined ? noDown : `${downOrdinals[down]}${toGo}`;
  const team =
    offense === undefined
      ? ''
      : `${shortTeams(teams)[offense]} ${play.kind === 'free kick' ? 'kicks' : 'has the ball'}`;
  return [when.filter(Boolean).join(' '), start === '' ? where : `${start} at ${where}`, team]
    .filter(Boolean)
    .join(' · ');
}
