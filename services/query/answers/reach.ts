// Where did this go? Follows lots, heats, machines or marks forward to pours, packs and customers.
import type { Followed, View } from '../../metal/followed.ts'
import { Reach, type Scope, type Threshold } from '../../metal/reach.ts'
import type { PageArgs } from '../connections.ts'
import type { Context } from '../context.ts'
import { bounded, type Estimate, grouped, inWords, listed, plain } from '../estimate.ts'
import { type Completeness, completenessOf } from '../record/completeness.ts'
import { refusal } from '../refusal.ts'
import { type AffectedBy, assertShare, shareOf, thresholdOf, usualDoseOf } from './affected-by.ts'
import { answerId } from './answer-id.ts'
import { followFrom, nameOfStart, type ReachFrom } from './reach-from.ts'
import { standingCount, thresholds, toHold, type Word } from './reach-rows.ts'
import {
  customersOf,
  customersPage,
  loadsPage,
  packsPage,
  packsTouched,
  placesOf,
  poursPage,
  type Shown,
} from './scope-rows.ts'
import { type ReachThen, reachSince } from './since.ts'
import { stripOf } from './strip.ts'

export interface ReachArgs {
  from: ReachFrom
  affected: AffectedBy
  asOf?: number | null
}

export async function reach(context: Context, args: ReachArgs): Promise<object> {
  const snapshot = await context.snapshot()
  const { view, asOf } = snapshot.at(args.asOf ?? undefined)
  const start = await followFrom(context, view, asOf, args.from)
  if ('notOne' in start) return start.notOne
  const { followed, things: from } = start
  const threshold = thresholdOf(view, args.affected, { followed, from })
  const completeness = await completenessOf(context, view, asOf, {
    on: () => true,
    begins: followed.begins,
    named: from,
  })
  if (completeness.mentionedAside) followed.openFrom = openFrom(followed)
  return new ReachAnswer(
    context,
    view,
    asOf,
    args,
    from,
    new Reach(view, followed),
    threshold,
    completeness,
  )
}

/** Of a charge of a tonne, half of what its scale tells apart. Common practice, no source. */
const NOT_WEIGHED = 0.5 / 1000

/** While a report about it cannot be read, nothing is clear from when on it could be in anything. */
export function openFrom({ begins }: Followed): number {
  return Number.isFinite(begins) ? begins : Number.NEGATIVE_INFINITY
}

/** The GraphQL object Reach. */
export class ReachAnswer {
  readonly __typename = 'Reach'
  readonly id: string
  readonly asOf: number
  readonly #context: Context
  readonly #view: View
  readonly #from: number[]
  readonly #reach: Reach
  readonly #threshold: Threshold
  readonly #args: ReachArgs
  readonly completeness: Completeness
  #scoped: Scope | undefined

  constructor(
    context: Context,
    view: View,
    asOf: number,
    args: ReachArgs,
    from: number[],
    found: Reach,
    threshold: Threshold,
    completeness: Completeness,
  ) {
    this.#context = context
    this.#view = view
    this.#args = args
    this.#from = from
    this.#reach = found
    this.#threshold = threshold
    this.completeness = completeness
    this.id = answerId({
      question: 'reach',
      args: { from: args.from, affected: args.affected },
      asOf,
    })
    this.asOf = asOf
  }

  get #shown(): Shown {
    const { id, asOf } = this
    return { context: this.#context, view: this.#view, id, asOf, ...this.#scope }
  }

  get #scope(): Scope {
    this.#scoped ??= this.#reach.scope(this.#threshold)
    return this.#scoped
  }

  from() {
    return this.#context.things.many(this.#from, this.asOf)
  }

  question(): string {
    const named = nameOfStart(this.#args.from)
    const names = named ? [named] : this.#from.map((no) => this.#view.things.name(no))
    return `Where did ${listed(names)} go? ${this.#counts()}`
  }

  #counts(): string {
    if (!('share' in this.#threshold)) return 'A casting counts when it was touched at all.'
    const share = inWords(this.#threshold.share)
    const { dose } = this.#args.affected
    return dose === undefined
      ? `Castings count from ${share} of their metal on.`
      : `Castings count from ${dose} of the usual dose on, which is ${share} of their metal.`
  }

  sentence(): string {
    const { total, nodes } = this.#scope
    const held = total.certain + total.possible + total.unknown
    const seen = held + total.clear
    if (held === 0)
      return `None of ${grouped(seen)} castings counts, and no report that could say otherwise is missing.`
    const packs = packsTouched(this.#view, nodes)
    const customers = customersOf(this.#scope.nodes).length
    return (
      `${this.completeness.verdict === 'WHOLE' ? '' : 'So far: '}` +
      `${grouped(held)} of ${grouped(seen)} castings are to be held: ${grouped(total.certain)} certain, ` +
      `${grouped(total.possible)} possible, ${grouped(total.unknown)} not known. About ${grouped(Number(total.expected.toPrecision(2)))} ` +
      `are really affected. ${grouped(packs)} packs and ${grouped(customers)} customers are touched.`
    )
  }

  /** Null when the question cannot be answered now, as when a mark has become unclear. */
  async since() {
    const now = await reach(this.#context, { ...this.#args, asOf: null })
    if (!(now instanceof ReachAnswer)) return null
    const changes = await reachSince(this.#context, this.asAnswered, now.asAnswered)
    return { ...changes, answer: now.id }
  }

  /** What a later answer to the same question is held against. */
  get asAnswered(): ReachThen {
    return { view: this.#view, asOf: this.asOf, from: this.#from, scope: this.#scope }
  }

  cautions() {
    return [
      {
        code: 'recall-duties',
        sentence:
          'Whether to recall, and by when, is decided by the plant with counsel under the law of each market.',
      },
      ...((this.leastShare() ?? 1) < NOT_WEIGHED
        ? [
            {
              code: 'below-weighing',
              sentence:
                'Half a kilogram of a charge is less than its scale shows: what went in so little no report tells, and a share so small may be in castings that are called clear.',
            },
          ]
        : []),
      ...('measure' in this.#args.from || 'factor' in this.#args.from
        ? [
            {
              code: 'only-what-was-recorded',
              sentence:
                'What went through a step and was not measured there does not count here: clear means that no report brings it there.',
            },
          ]
        : []),
      ...(this.#scope.total.unknown > 0
        ? [
            {
              code: 'not-known-is-held',
              sentence: 'Castings of which reports are missing are handled as affected.',
            },
          ]
        : []),
    ]
  }

  leastShare(): number | null {
    return 'share' in this.#threshold ? this.#threshold.share : null
  }

  usualDose() {
    return this.#args.affected.dose === undefined ? null : usualDoseOf(this.#view, this.#from)
  }

  castings() {
    return standingCount(this.#scope.total)
  }

  places() {
    return placesOf(this.#shown)
  }

  leftOut(): Estimate | null {
    const { leftOut } = this.#scope
    return leftOut === undefined ? null : plain(leftOut)
  }

  mostLeftOutGrams(): number | null {
    return this.#scope.mostLeftOutGrams ?? null
  }

  pours(args: PageArgs & { standing?: Word[] }) {
    return poursPage(this.#shown, this.#scope.pours, args, (share) => {
      const heaviest = this.#view.castings.heaviestOf(share.pour)
      return {
        share: bounded(share.best, share.low, share.high),
        grams:
          heaviest === 0
            ? null
            : bounded(share.best * heaviest, share.low * heaviest, share.high * heaviest),
      }
    })
  }

  loads(args: PageArgs & { standing?: Word[]; step?: string }) {
    const step = args.step?.toLowerCase().replace('_', '-')
    return loadsPage(
      this.#shown,
      args,
      this.#scope.handled().filter((n) => step === undefined || n.node.step === step),
    )
  }

  packs(args: PageArgs & { standing?: Word[]; place?: string }) {
    return packsPage(this.#shown, args)
  }

  customers(args: PageArgs) {
    return customersPage(this.#shown, args)
  }

  strip({ columns }: { columns: number }) {
    if (columns < 2 || columns > 400)
      throw refusal('BAD_USER_INPUT', 'strip(columns) may be 2 to 400.')
    return this.#reach.byMass ? stripOf(this.#scope.pours, columns) : null
  }

  curve({ points }: { points: number }) {
    if (!this.#reach.byMass) return null
    const curve = { share: [], expected: [], toHold: [], certain: [], leftOut: [] } as Record<
      string,
      number[]
    >
    for (const share of thresholds(this.#reach, points)) {
      const { total, leftOut } = this.#reach.scope({ share })
      curve.share!.push(share)
      curve.expected!.push(total.expected)
      curve.toHold!.push(toHold(total))
      curve.certain!.push(Math.round(total.certain))
      curve.leftOut!.push(leftOut ?? 0)
    }
    return curve
  }

  at({ share }: { share: number }) {
    if (!this.#reach.byMass) return null
    // Of an addition a share means something only beside the usual dose.
    if (this.#args.affected.dose !== undefined) assertShare(share)
    else shareOf(share, this.#reach.followed)
    const scope = this.#reach.scope({ share })
    const held = scope.nodes.filter((n) => n.standing !== 'clear')
    return {
      share,
      castings: standingCount(scope.total),
      packs: packsTouched(this.#view, held),
      customers: new Set(held.map((n) => n.node.customer).filter((name) => name !== undefined))
        .size,
      leftOut: plain(scope.leftOut ?? 0),
    }
  }
}
