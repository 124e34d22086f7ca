import { benjaminiHochberg } from './false-discovery.ts';

/** How many comparisons a family held and what became of them; shown beside every list of patterns. */
export interface Family {
  /** Comparisons made, cuts included: what the false-discovery control counts. */
  comparisons: number;
  /** Found: adjusted p-value at or below q. */
  found: number;
  /** Not compared: fewer chances than the setting, or no peers seen by the same observers. */
  tooFew: number;
}

export interface Judged<T> {
  candidate: T;
  pValue: number;
  adjustedP: number;
}

/**
 * Collects a family's comparisons and rejects by Benjamini and Hochberg. A comparison that fails a side
 * condition (spread over games, for one) must still be added, with p = 1: it was tried. That keeps each
 * p-value valid (it only grew) and the family's promise whole.
 */
export class FamilyBuilder<T> {
  private readonly candidates: T[] = [];
  private readonly pValues: number[] = [];
  private comparisons = 0;
  private tooFew = 0;
  private readonly q: number;

  constructor(q: number) {
    this.q = q;
  }

  skip(): void {
    this.tooFew++;
  }

  add(candidate: T, pValue: number): void {
    this.comparisons++;
    if (pValue > this.q) return; // cannot be rejected: counted, not kept
    this.candidates.push(candidate);
    this.pValues.push(pValue);
  }

  /**
   * @param also a dearer test that must agree: of both p-values the larger counts. It is made only of what the first
   * one finds. That decides the same: raising p-values never makes a find of what was none, and what is found rests
   * on no larger p-value than its own.
   */
  judge(also?: (candidate: T) => number): { found: Judged<T>[]; family: Family } {
    if (also) {
      const adjusted = benjaminiHochberg(this.pValues, this.comparisons);
      for (const [i, candidate] of this.candidates.entries()) {
        if (adjusted[i]! <= this.q) this.pValues[i] = Math.max(this.pValues[i]!, also(candidate));
      }
    }
    const adjusted = benjaminiHochberg(this.pValues, this.comparisons);
    const found: Judged<T>[] = [];
    for (const [i, candidate] of this.candidates.entries()) {
      if (adjusted[i]! <= this.q) {
        found.push({ candidate, pValue: this.pValues[i]!, adjustedP: adjusted[i]! });
      }
    }
    return {
      found,
      family: { comparisons: this.comparisons, found: found.length, tooFew: this.tooFew },
    };
  }
}
