// What the fit of samples to charges is told, in the order it happened: bins filled, heats melted.
import type { Grams, Ms } from '../../../events/fact.ts'

/** Elements that stay in the metal, and so follow from weights and analyses of what went in. */
export const STAYING = ['Cu', 'Ni', 'Sn', 'Mo', 'P', 'Cr'] as const
export type Staying = (typeof STAYING)[number]

/** By element. Unit: percent by mass. */
export type Percents = Partial<Record<Staying, number>>

/** What went into something: a lot, bin, furnace or whatever else bears a number. */
export interface Part {
  of: number
  grams: Grams
  /** Standard deviation of the weighing. */
  spread: Grams
}

export interface Fill {
  sort: 'fill'
  at: Ms
  bin: number
  parts: Part[]
}

export interface HeatStep {
  sort: 'heat'
  at: Ms
  heat: number
  furnace: number
  fromEmpty: boolean
  /** As measured before the first charge; absent, what the book says is left. */
  heel?: { grams: Grams; spread: Grams }
  parts: Part[]
  tapped: Grams
  /** Means of its samples, with the standard deviation of one reading. */
  read?: Partial<Record<Staying, { percent: number; spread: number }>>
}

export type Step = Fill | HeatStep

/** What is known of a source before any sample spoke of it. */
export interface Source {
  /** Lots of one material are alike. */
  material: string
  role: 'metallic' | 'returns' | 'other'
  /** As its certificate or a laboratory says. */
  analyzed?: Percents
  /** On site. Unit: ms. */
  from: Ms
}
