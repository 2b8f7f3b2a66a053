// In which order cells are worked out: each after all it depends on, by the clock where that leaves a
// choice. Where clocks close a circle, the cell with the least clock goes first and its links from
// inside the circle are left out; where that opens circle after circle, the links that run furthest
// against time are. Which links are left out is a pure function of the set of cells, so every order
// made here gives the same shares to the last bit.

/** Calls `visit` with each cell this one depends on. */
export type Dependencies = (cell: number, visit: (dependency: number) => void) => void

export interface Order {
  /** Every cell once. */
  cells: Int32Array
  /** Cells whose links against time were left out. */
  late: number[]
  /** Cells that stand in a circle. */
  circular: Set<number>
}

/** Circles in circles opened one cell at a time; what is deeper is opened at many cells at once. */
const ONE_BY_ONE = 8

/**
 * Sorts `cells`, given by the clock, by dependency.
 * `compare` is the clock: (at, tie), below 0 for the earlier; `at` its seconds; `count` exceeds every cell.
 */
export function sortCells(
  cells: Int32Array,
  count: number,
  dependencies: Dependencies,
  compare: (a: number, b: number) => number,
  at: Uint32Array,
): Order {
  const order: Order = { cells: new Int32Array(cells.length), late: [], circular: new Set() }
  const state: State = {
    order,
    placed: 0,
    part: new Int32Array(count).fill(-1),
    parts: 0,
    index: new Int32Array(count),
    low: new Int32Array(count),
    dependencies,
    compare,
    at,
  }
  sortPart(state, cells, 0, Number.POSITIVE_INFINITY)
  return order
}

interface State {
  order: Order
  placed: number
  /** By cell: which part is sorting it; -1 once placed. */
  part: Int32Array
  parts: number
  /** By cell: when the walk met it, from 1; 0 before. */
  index: Int32Array
  /** By cell: the earliest met cell it leads back to. */
  low: Int32Array
  dependencies: Dependencies
  compare: (a: number, b: number) => number
  at: Uint32Array
}

// Links that run against time by `limit` seconds or more are left out.
// R. Tarjan, Depth-first search and linear graph algorithms (1972): groups come out dependencies first.
function sortPart(state: State, cells: ArrayLike<number>, depth: number, limit: number): void {
  const { part, index, low } = state
  const mine = state.parts++
  for (let k = 0; k < cells.length; k++) {
    part[cells[k]!] = mine
    index[cells[k]!] = 0
  }
  let met = 0
  const path: number[] = []
  const open: number[] = []
  const firstEdge: number[] = []
  const edges: number[] = []
  const enter = (cell: number) => {
    index[cell] = low[cell] = ++met
    path.push(cell)
    open.push(cell)
    firstEdge.push(edges.length)
    state.dependencies(cell, (dependency) => {
      if (part[dependency] === mine && against(state, cell, dependency) < limit) {
        edges.push(dependency)
      }
    })
  }
  for (let k = 0; k < cells.length; k++) {
    if (part[cells[k]!] !== mine || index[cells[k]!] !== 0) continue
    enter(cells[k]!)
    while (path.length > 0) {
      const cell = path.at(-1)!
      if (edges.length > firstEdge.at(-1)!) {
        const next = edges.pop()!
        if (part[next] !== mine) continue
        if (index[next] === 0) enter(next)
        else low[cell] = Math.min(low[cell]!, index[next]!)
        continue
      }
      path.pop()
      firstEdge.pop()
      const below = path.at(-1)
      if (below !== undefined) low[below] = Math.min(low[below]!, low[cell]!)
      if (low[cell] === index[cell]) {
        place(state, open.splice(open.lastIndexOf(cell)), depth, limit)
      }
    }
  }
}

function place(state: State, group: number[], depth: number, limit: number): void {
  const { order, part, compare } = state
  if (group.length === 1) {
    part[group[0]!] = -1
    order.cells[state.placed++] = group[0]!
    return
  }
  for (const cell of group) order.circular.add(cell)
  group.sort(compare)
  if (depth < ONE_BY_ONE) {
    const [first, ...rest] = group
    part[first!] = -1
    order.cells[state.placed++] = first!
    order.late.push(first!)
    sortPart(state, rest, depth + 1, limit)
  } else sortPart(state, group, depth + 1, halfway(state, group, limit))
}

// Half of what the links of a circle run against time at most. Notes whose links that leaves out.
function halfway(state: State, group: number[], limit: number): number {
  const { part, parts, dependencies, order } = state
  for (const cell of group) part[cell] = parts
  state.parts++
  const worst = group.map((cell) => {
    let seconds = -1
    dependencies(cell, (dependency) => {
      const by = part[dependency] === parts ? against(state, cell, dependency) : -1
      if (by < limit) seconds = Math.max(seconds, by)
    })
    return seconds
  })
  const half = worst.reduce((most, seconds) => Math.max(most, seconds), 0) / 2
  for (const [k, cell] of group.entries()) if (worst[k]! >= half) order.late.push(cell)
  return half
}

// Seconds by which a link runs against time, -1 for one that does not.
function against({ at, compare }: State, cell: number, dependency: number): number {
  return compare(dependency, cell) > 0 ? at[dependency]! - at[cell]! : -1
}
