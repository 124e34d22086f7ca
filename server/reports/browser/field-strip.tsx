import { useEffect, useRef, useState } from 'preact/hooks';
import { nameOfYardLine } from '../../football/drawing/field-measures.ts';
import { type GameTeams, yardLineOf } from '../../football/game-teams.ts';
import type { Play } from '../../football/play.ts';
import { type Lane, lanes } from '../../football/sides.ts';
import { type BallPlace, placesOf, wholeField } from '../entry/places.ts';

interface Props {
  play: Play;
  teams: GameTeams;
  open: boolean;
  onPlace(says: Partial<Play>, label: string): void;
}

const laneNames: Readonly<Record<Lane, string>> = {
  'head linesman side': 'Linesman',
  middle: 'Middle',
  'line judge side': 'Line judge',
};
const laneHeight = 46;
const headHeight = 20;
const height = headHeight + laneHeight * lanes.length;

/** A strip of the field, the offense going to the right: where the ball came down, was caught, was dead. */
export function FieldStrip(props: Props) {
  const places = placesOf(props.play);
  const [chosen, choose] = useState<string>();
  if (places.length === 0) return null;
  // The first place not shown yet, so that one touch follows the other; a chosen one until it is shown.
  const place =
    places.find(({ key }) => key === chosen) ??
    places.find(({ yards }) => yards === undefined) ??
    places.at(-1)!;
  return (
    <fieldset class="place-box">
      <legend class="visually-hidden">Where on the field</legend>
      {places.length > 1 && (
        <div class="place-places">
          {places.map(({ key, label, yards }) => (
            <button
              key={key}
              type="button"
              class="second"
              aria-pressed={key === place.key}
              onClick={() => choose(key)}
            >
              {label}
              {yards !== undefined && <small>{yardLineOf(yards, props.play.offense, props.teams)}</small>}
            </button>
          ))}
        </div>
      )}
      <Strip
        key={place.key}
        {...props}
        place={place}
        onPlace={(says, label) => {
          choose(undefined);
          props.onPlace(says, label);
        }}
        onNudge={(says, label) => {
          choose(place.key);
          props.onPlace(says, label);
        }}
      />
    </fieldset>
  );
}

type Shown = { yards: number; lane: Lane | undefined };

function Strip(props: Props & { place: BallPlace; onNudge: Props['onPlace'] }) {
  const { play, teams, open, place } = props;
  const [whole, showWhole] = useState(false);
  /** Under the finger, or being moved by keys: not said yet. */
  const [moving, setMoving] = useState<Shown>();
  const field = useRef<HTMLDivElement>(null);
  const yards = moving?.yards ?? place.yards;
  const lane = moving?.lane ?? place.lane;
  const outside = yards !== undefined && (yards < place.around[0] || yards > place.around[1]);
  const [from, to] = whole || outside ? wholeField : place.around;
  const x = (yard: number) => `${(((yard - from) / (to - from)) * 100).toFixed(2)}%`;
  const named = (yard: number) => yardLineOf(yard, play.offense, teams);
  const text = (at: Shown | undefined) =>
    at === undefined
      ? 'not shown yet'
      : [named(at.yards), at.lane && laneInWords(at.lane), gained(play, place, at.yards)]
          .filter(Boolean)
          .join(', ');
  const shown = yards === undefined ? undefined : { yards, lane };
  const label = place.label.toLowerCase();

  const under = (event: PointerEvent): Shown => {
    const box = field.current!.getBoundingClientRect();
    const along = Math.round(from + ((event.clientX - box.left) / box.width) * (to - from));
    const across = Math.floor((event.clientY - box.top - headHeight) / laneHeight);
    return {
      yards: Math.max(wholeField[0], Math.min(wholeField[1], along)),
      lane: lanes[Math.max(0, Math.min(lanes.length - 1, across))]!,
    };
  };
  const nudge = (by: number) => {
    const next = { yards: (yards ?? play.spot) + by, lane };
    props.onNudge(place.says(next.yards, next.lane), label);
  };

  // Keys move it at once and say it when the hand rests or goes elsewhere.
  const latest = useRef({ moving, props });
  latest.current = { moving, props };
  const timer = useRef<ReturnType<typeof setTimeout>>();
  const say = () => {
    clearTimeout(timer.current);
    const { moving: at, props: now } = latest.current;
    if (!at) return;
    latest.current.moving = undefined;
    setMoving(undefined);
    now.onNudge(now.place.says(at.yards, at.lane), now.place.label.toLowerCase());
  };
  useEffect(() => () => clearTimeout(timer.current), []);
  const onKey = (event: KeyboardEvent) => {
    const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }[event.key];
    if (!open || step === undefined) return say();
    event.preventDefault();
    const at = (yards ?? play.spot) + step * (event.shiftKey ? 5 : 1);
    setMoving({ yards: Math.max(wholeField[0], Math.min(wholeField[1], at)), lane });
    clearTimeout(timer.current);
    timer.current = setTimeout(say, 700);
  };

  const fives = [];
  for (let yard = Math.ceil(from / 5) * 5; yard <= to; yard += 5) fives.push(yard);
  const laneY = (of: Lane) => headHeight + (lanes.indexOf(of) + 0.5) * laneHeight;
  const lineToGain =
    play.distance !== undefined && play.spot + play.distance < 100 ? play.spot + play.distance : undefined;
  return (
    <>
      <div class="place-strip">
        <div class="place-lanes">
          {lanes.map((each) => (
            <button
              key={each}
              type="button"
              class="second"
              disabled={!open || yards === undefined}
              aria-pressed={lane === each}
              aria-label={`${place.label}: ${laneInWords(each)}`}
              onClick={() => props.onNudge(place.says(yards!, each), label)}
            >
              {laneNames[each]}
            </button>
          ))}
        </div>
        <div
          ref={field}
          class="place-field"
          data-from={from}
          data-to={to}
          role="slider"
          tabIndex={open ? 0 : -1}
          aria-label={place.label}
          aria-disabled={!open}
          aria-valuemin={wholeField[0]}
          aria-valuemax={wholeField[1]}
          aria-valuenow={yards ?? play.spot}
          aria-valuetext={text(shown)}
          onKeyDown={onKey}
          onBlur={say}
          onPointerDown={(event) => {
            if (!open || event.button !== 0) return;
            event.currentTarget.setPointerCapture(event.pointerId);
            setMoving(under(event));
          }}
          onPointerMove={(event) => {
            if (event.currentTarget.hasPointerCapture(event.pointerId)) setMoving(under(event));
          }}
          onPointerUp={(event) => {
            if (!event.currentTarget.hasPointerCapture(event.pointerId)) return;
            const at = under(event);
            latest.current.moving = undefined;
            setMoving(undefined);
            props.onPlace(place.says(at.yards, at.lane), label);
          }}
          onPointerCancel={() => setMoving(undefined)}
        >
          <svg height={height} aria-hidden="true" focusable="false">
            {(
              [
                [-10, 0],
                [100, 110],
              ] as const
            ).map(
              ([left, right]) =>
                left < to &&
                right > from && (
                  <rect
                    key={left}
                    class="end-zone"
                    x={x(Math.max(from, left))}
                    y={headHeight}
                    width={`${((Math.min(to, right) - Math.max(from, left)) / (to - from)) * 100}%`}
                    height={height - headHeight}
                  />
                ),
            )}
            {lanes.slice(1).map((each) => (
              <line
                key={each}
                class="lane"
                x1="0"
                x2="100%"
                y1={headHeight + lanes.indexOf(each) * laneHeight}
                y2={headHeight + lanes.indexOf(each) * laneHeight}
              />
            ))}
            {fives.map((yard) => (
              <line
                key={yard}
                class={yard === 0 || yard === 100 ? 'goal' : yard % 10 === 0 ? 'ten' : 'five'}
                x1={x(yard)}
                x2={x(yard)}
                y1={headHeight}
                y2={height}
              />
            ))}
            {fives
              .filter((yard) => yard % 10 === 0 && yard >= 0 && yard <= 100 && yard > from && yard < to)
              .map((yard) => (
                <text key={yard} x={x(yard)} y={headHeight - 6} text-anchor="middle">
                  {yard === 0 || yard === 100 ? 'goal' : nameOfYardLine(yard)}
                </text>
              ))}
            {play.spot >= from && play.spot <= to && (
              <line class="snap" x1={x(play.spot)} x2={x(play.spot)} y1={headHeight} y2={height} />
            )}
            {lineToGain !== undefined && lineToGain >= from && lineToGain <= to && (
              <line class="to-gain" x1={x(lineToGain)} x2={x(lineToGain)} y1={headHeight} y2={height} />
            )}
            {yards !== undefined && (
              <>
                <line class="ball" x1={x(yards)} x2={x(yards)} y1={headHeight} y2={height} />
                {lane !== undefined && <circle class="ball" cx={x(yards)} cy={laneY(lane)} r="9" />}
              </>
            )}
          </svg>
        </div>
      </div>
      <div class="place-read">
        <button type="button" class="second" disabled={!open} onClick={() => nudge(-1)}>
          −1<span class="visually-hidden"> yard, {label}</span>
        </button>
        <p>
          <span class="soft">{place.label}</span> <strong>{text(shown)}</strong>
        </p>
        <button type="button" class="second" disabled={!open} onClick={() => nudge(1)}>
          +1<span class="visually-hidden"> yard, {label}</span>
        </button>
        <button type="button" class="second" aria-pressed={whole} onClick={() => showWhole(!whole)}>
          Whole field
        </button>
      </div>
    </>
  );
}

const laneInWords = (lane: Lane): string => (lane === 'middle' ? 'middle' : lane.replace(' side', '’s side'));

/** `+3`: how far from where the ball was put in play, where that is what people say of it. */
function gained(play: Play, { key }: BallPlace, yards: number): string | undefined {
  if ((play.kind !== 'run' && play.kind !== 'pass') || key === 'came loose') return undefined;
  const gain = yards - play.spot;
  return gain === 0 ? 'no gain' : gain > 0 ? `+${gain}` : `−${-gain}`;
}
