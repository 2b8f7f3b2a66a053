// The lists of things, newest first, each with what it can be narrowed by.
import { type Listed, type ListedSort, readList } from '../../store/read-lists.ts'
import { type Connection, type PageArgs, page } from '../connections.ts'
import type { Context } from '../context.ts'
import { contractWord } from './amounts.ts'
import { countListed } from './count-listed.ts'
import { NOW } from './thing.ts'

interface ListArgs extends PageArgs {
  window?: { from: number; to: number } | null
  material?: string | null
  recipe?: string | null
  furnace?: string | null
  line?: string | null
  step?: string | null
  machine?: string | null
  product?: string | null
}

interface List {
  sorts: readonly ListedSort[]
  /** Thing that the facts name as where it happened, from the arguments. */
  via?(args: ListArgs): string | undefined
  words?(args: ListArgs): { in: readonly string[]; is: string | null | undefined }[]
}

const viaLine = ({ line }: ListArgs) => (line == null ? undefined : `line:${line}`)

const LISTS: Readonly<Record<string, List>> = {
  lots: {
    sorts: ['lot-received', 'returns-collected'],
    words: ({ material }) => [{ in: ['material', 'sort'], is: material }],
  },
  charges: { sorts: ['charge-line'] },
  heats: {
    sorts: ['heat-begun'],
    via: ({ furnace }) => (furnace == null ? undefined : `furnace:${furnace}`),
  },
  ladles: { sorts: ['ladle-tapped'] },
  sands: { sorts: ['sand-mulled'] },
  molds: { sorts: ['molds-made'], via: viaLine },
  pours: { sorts: ['poured'], via: viaLine },
  loads: {
    sorts: ['load-handled'],
    words: ({ step, machine }) => [
      { in: ['step'], is: step && contractWord(step) },
      { in: ['machine'], is: machine },
    ],
  },
  packs: {
    sorts: ['pack-line', 'repacked'],
    words: ({ product }) => [{ in: ['product'], is: product }],
  },
  pans: { sorts: ['pan-packed'] },
  shipments: { sorts: ['shipped'] },
}

type Resolver = (
  root: unknown,
  args: ListArgs,
  context: Context,
) => Promise<Connection<{ node: object }>>

/** Resolvers of the root lists by their field names. */
export const LIST_RESOLVERS: Readonly<Record<string, Resolver>> = Object.fromEntries(
  Object.entries(LISTS).map(([name, list]) => [
    name,
    (_, args, context) => listPage(name, list, args, context),
  ]),
)

async function listPage(name: string, list: List, args: ListArgs, context: Context) {
  const { pool } = context.store
  const { plant } = context
  const viaName = list.via?.(args)
  const via = viaName === undefined ? undefined : await context.things.numberOf(plant, viaName)
  const isEmpty = viaName !== undefined && via === undefined
  const listed: Listed = {
    plant,
    sorts: list.sorts,
    via,
    words: (list.words?.(args) ?? []).flatMap((word) =>
      word.is == null ? [] : { ...word, is: word.is },
    ),
    recipe: args.recipe ?? undefined,
    from: args.window?.from,
    to: args.window?.to,
  }
  return page(args, {
    list: name,
    parts: ['integer', 'integer'],
    rows: async (after, most) =>
      isEmpty ? [] : readList(pool, listed, { most, after: after && placeIn(after), asOf: NOW }),
    key: ({ at, no }) => [at, no],
    edges: async (shown) => {
      const things = await context.things.many(shown.map(({ no }) => no))
      return things.map((node) => ({ node }))
    },
    count: () => (isEmpty ? 0 : countListed(context, listed, ({ fact }) => fact.of)),
  })
}

function placeIn([at, no]: readonly (number | string)[]) {
  return { at: Number(at), no: Number(no) }
}
