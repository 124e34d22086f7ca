import type { Play } from '../football/play.ts';

export interface LoggedPlay {
  readonly id: string;
  readonly play: Play;
}
