import { positionsOf } from '../../football/crews.ts';
import type { CrewSize, Position } from '../../football/positions.ts';
import { type CandidateLine, candidateLines } from '../candidate-view.ts';
import type { Selection } from '../selection.ts';
import type { Material } from '../stores/material-store.ts';

/** The candidates as they stood when a committee began: what it votes and decides on, whatever is released later. */
export interface Basis {
  /** ISO instant. */
  readonly takenAt: string;
  /** The season's input revision, its models and its places. */
  readonly inputRevision: number;
  readonly model: string;
  readonly otherModel: string;
  readonly top: number;
  readonly week: number | null;
  readonly games: readonly {
    readonly gameId: string;
    readonly positions: readonly { readonly position: Position; readonly lines: readonly CandidateLine[] }[];
  }[];
}

/** @param takenAt now */
export function basisOf(selection: Selection, material: Material, takenAt: Date): Basis {
  const { inputRevision, model, otherModel, top, week } = material;
  return {
    ...{ takenAt: takenAt.toISOString(), inputRevision, model, otherModel, top, week },
    games: selection.games.map((game) => ({
      gameId: game.id,
      positions: positionsOf(game.crewSize as CrewSize).map((position) => ({
        position,
        lines: candidateLines(material, position, game.id),
      })),
    })),
  };
}

/** The lines of one position of one game; none where the game has no such position. */
export const linesOf = (basis: Basis, gameId: string, position: Position): readonly CandidateLine[] =>
  basis.games.find((game) => game.gameId === gameId)?.positions.find((one) => one.position === position)
    ?.lines ?? [];
