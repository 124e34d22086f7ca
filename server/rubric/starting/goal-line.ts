import type { DutyInput } from '../duty.ts';
import { allSizes, wings } from './crew-groups.ts';

export const goalLine: DutyInput[] = [
  {
    key: 'goal-line-at-the-snap',
    title: 'On the goal line at the snap',
    category: 'goal line',
    expected: 'get to the goal line at the snap and rule from there',
    positions: wings,
    crewSizes: allSizes,
    allOf: ['snap-near-goal-line'],
    weight: 3,
    gradedAs: 'mechanics',
    guidance:
      'The plane is ruled only from the plane. Move at the snap, along the sideline, and be still when the runner arrives.',
  },
  {
    key: 'come-back-out-when-short',
    title: 'Come back out to the spot when short',
    category: 'goal line',
    expected: 'come back out from the goal line to the spot when the runner is short',
    positions: wings,
    crewSizes: allSizes,
    who: 'where the ball is dead',
    allOf: ['snap-near-goal-line', 'dead-short-of-goal-line'],
    unless: ['pass-incomplete'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance: 'Coming out sells that you saw him short. Standing on the goal line invites the question.',
  },
  {
    key: 'reverse-goal-line',
    title: 'Break back on the reverse goal line',
    category: 'goal line',
    expected: "break back toward the offense's goal line at the snap, ready to rule on a safety",
    positions: wings,
    crewSizes: allSizes,
    allOf: ['snap-near-own-goal-line'],
    weight: 3,
    gradedAs: 'mechanics',
    guidance: 'Backed up inside the 5, the line that can cost two points is behind you: go there first.',
  },
];
