// How much of an element can some lots have brought into what was cast, and where is more than a limit?

import { ELEMENTS } from '../../events/element.ts'
import { type Assay, assay, assayOf, followAssays } from '../../metal/chemistry/assay.ts'
import { behaviourOf } from '../../metal/chemistry/behaviour.ts'
import type { View } from '../../metal/followed.ts'
import { Reach, type Scope } from '../../metal/reach.ts'
import type { PageArgs } from '../connections.ts'
import type { Context } from '../context.ts'
import { bounded, grouped, listed } from '../estimate.ts'
import { type Completeness, completenessOf } from '../record/completeness.ts'
import { refusal } from '../refusal.ts'
import { findIds, notOne } from '../things/name.ts'
import { answerId } from './answer-id.ts'
import { openFrom } from './reach.ts'
import { standingCount, type Word } from './reach-rows.ts'
import {
  customersOf,
  customersPage,
  packsPage,
  packsTouched,
  placesOf,
  poursPage,
  type Shown,
} from './scope-rows.ts'

interface Of {
  lots: string[]
  symbol: string
  limitPercent: number
  besidesPercent: number
  assayPercent?: number | null
}

export interface ConcentrationArgs {
  of: Of
  asOf?: number | null
}

export async function concentration(context: Context, args: ConcentrationArgs): Promise<object> {
  const { of } = args
  check(of)
  const snapshot = await context.snapshot()
  const { view, asOf } = snapshot.at(args.asOf ?? undefined)
  const lots: number[] = []
  for (const found of await findIds(context, of.lots)) {
    if (found.found !== 'one') return notOne(context, found, asOf)
    if (view.things.kind(found.no) !== 'lot')
      throw refusal(
        'BAD_USER_INPUT',
        `of.lots must be lots, and ${view.things.name(found.no)} is none.`,
      )
    lots.push(found.no)
  }
  const assays = lots.map((lot) =>
    of.assayPercent == null
      ? assayOf(view, lot, of.symbol)
      : assay(lot, { value: of.assayPercent }, 'given'),
  )
  const known = assays.filter((one) => one !== undefined)
  const followed = followAssays(view, known, of.symbol)
  const completeness = await completenessOf(context, view, asOf, {
    on: () => true,
    begins: followed.begins,
    named: lots,
  })
  const silent = lots.filter((_, i) => assays[i] === undefined)
  if (silent.length > 0) return notAnalyzed(context, view, of, silent, completeness, asOf)
  if (completeness.mentionedAside) followed.openFrom = openFrom(followed)
  return new ConcentrationAnswer(
    context,
    view,
    asOf,
    of,
    known,
    new Reach(view, followed),
    completeness,
  )
}

function check({ lots, symbol, limitPercent, besidesPercent, assayPercent }: Of): void {
  const bad = (sentence: string) => refusal('BAD_USER_INPUT', sentence)
  if (lots.length < 1 || lots.length > 200) throw bad('of.lots takes from 1 to 200 lots.')
  if (!ELEMENTS.has(symbol))
    throw bad(`of.symbol ${symbol} is no chemical element: give one such as Pb.`)
  if (!(limitPercent > 0 && limitPercent <= 100))
    throw bad('of.limitPercent must lie above 0 and at most at 100.')
  if (!(besidesPercent >= 0 && besidesPercent < limitPercent))
    throw bad(
      'of.besidesPercent must be 0 or more, and below the limit: else all metal is over it.',
    )
  if (assayPercent != null && !(assayPercent >= 0 && assayPercent <= 100))
    throw bad('of.assayPercent must lie from 0 to 100.')
}

function notAnalyzed(
  context: Context,
  view: View,
  { symbol }: Of,
  lots: readonly number[],
  completeness: Completeness,
  asOf: number,
): object {
  const names = listed(lots.map((no) => view.things.name(no)))
  return {
    __typename: 'NotAnalyzed',
    sentence: `Nobody has said how much ${symbol} is in ${names}: have a sample analyzed and report it as a reading, or ask with assayPercent.`,
    lots: () => context.things.many(lots, asOf),
    completeness,
  }
}

class ConcentrationAnswer {
  readonly __typename = 'Concentration'
  readonly id: string
  readonly asOf: number
  readonly symbol: string
  readonly limitPercent: number
  readonly besidesPercent: number
  readonly completeness: Completeness
  readonly #context: Context
  readonly #view: View
  readonly #assays: readonly Assay[]
  readonly #scope: Scope

  constructor(
    context: Context,
    view: View,
    asOf: number,
    of: Of,
    assays: readonly Assay[],
    reach: Reach,
    completeness: Completeness,
  ) {
    this.#context = context
    this.#view = view
    this.#assays = assays
    this.#scope = reach.scope({
      share: (of.limitPercent - of.besidesPercent) / 100,
      clearsNothing: assays.some(({ bound }) => bound !== undefined),
    })
    this.asOf = asOf
    this.symbol = of.symbol
    this.limitPercent = of.limitPercent
    this.besidesPercent = of.besidesPercent
    this.completeness = completeness
    this.id = answerId({ question: 'concentration', args: { of }, asOf })
  }

  get #shown(): Shown {
    const { id, asOf } = this
    return { context: this.#context, view: this.#view, id, asOf, ...this.#scope }
  }

  question(): string {
    const lots = listed(this.#assays.map(({ lot }) => this.#view.things.name(lot)))
    return (
      `Where can ${lots} have brought ${this.symbol} to ${this.limitPercent} % or more, ` +
      `beside ${this.besidesPercent} % that was there?`
    )
  }

  sentence(): string {
    const { total, nodes, pours } = this.#scope
    const held = total.certain + total.possible + total.unknown
    const seen = held + total.clear
    const most = pours.reduce((high, { share }) => Math.max(high, share.high - share.gap), 0)
    const start = this.completeness.verdict === 'WHOLE' ? '' : 'So far: '
    if (held === 0)
      return `${start}None of ${grouped(seen)} castings can hold ${this.limitPercent} % ${this.symbol}: at most ${percentText(most)} came from these lots.`
    return (
      `${start}${grouped(held)} of ${grouped(seen)} castings are to be held: ${grouped(total.certain)} certain, ` +
      `${grouped(total.possible)} possible, ${grouped(total.unknown)} not known. Up to ${percentText(most)} ${this.symbol} ` +
      `came from these lots. ${grouped(packsTouched(this.#view, nodes))} packs and ` +
      `${grouped(customersOf(nodes).length)} customers are touched.`
    )
  }

  cautions() {
    const { sentence, sort } = behaviourOf(this.symbol)
    const bounded = this.#assays.some(({ bound }) => bound !== undefined)
    return [
      { code: `element-${sort}`, sentence },
      ...(bounded
        ? [
            {
              code: 'limit-clears-nothing',
              sentence:
                'Of a lot only a limit of the method is known: nothing it may be in is called clear.',
            },
          ]
        : []),
      ...(this.symbol === 'Pb'
        ? [
            {
              code: 'lead-sinks',
              sentence:
                'Lead hardly dissolves in iron and gathers at the bottom of a bath: a pour may hold more than its part.',
            },
          ]
        : []),
      {
        code: 'recall-duties',
        sentence:
          'Limits for food contact are limits of release, not of the alloy: the plant decides with its laboratory and counsel under the law of each market.',
      },
    ]
  }

  behaviour(): string {
    return behaviourOf(this.symbol).sort.toUpperCase()
  }

  kept() {
    const { best, low, high } = behaviourOf(this.symbol).kept
    return bounded(best, low, high)
  }

  assays() {
    return this.#assays.map(({ lot, best, low, high, from, bound }) => ({
      lot: () => this.#context.things.one(lot, this.asOf),
      percent: bounded(100 * best, 100 * low, 100 * high),
      from: from.toUpperCase(),
      lessThan: bound === 'below',
      moreThan: bound === 'above',
    }))
  }

  castings() {
    return standingCount(this.#scope.total)
  }

  places() {
    return placesOf(this.#shown)
  }

  pours(args: PageArgs & { standing?: Word[] }) {
    return poursPage(this.#shown, this.#scope.pours, args, ({ best, low, high }) => ({
      percent: bounded(100 * best, 100 * low, 100 * high),
    }))
  }

  packs(args: PageArgs & { standing?: Word[]; place?: string }) {
    return packsPage(this.#shown, args)
  }

  customers(args: PageArgs) {
    return customersPage(this.#shown, args)
  }
}

function percentText(part: number): string {
  return `${Number((100 * part).toPrecision(3))} %`
}
