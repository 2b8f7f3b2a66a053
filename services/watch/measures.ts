// What is counted and measured, as Prometheus reads it: the text format 0.0.4.

type Labels = Readonly<Record<string, string>>
type Reading = readonly (readonly [Labels, number])[]

interface Measure {
  help: string
  type: 'counter' | 'gauge' | 'histogram'
  /** Lines without the name before them. */
  lines(name: string): Promise<string[]>
}

/** Such as a write to the database. Unit: s. */
const BOUNDS = [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10] as const

/** All measures of a process; a name is given once. */
export class Measures {
  readonly #measures = new Map<string, Measure>()

  /** Counts up: call what it answers with the labels and how many more. */
  counter(name: string, help: string): (labels: Labels, more?: number) => void {
    const counts = new Map<string, [Labels, number]>()
    this.#add(name, {
      help,
      type: 'counter',
      lines: async () => [...counts.values()].map(([labels, count]) => line(name, labels, count)),
    })
    return (labels, more = 1) => {
      const key = JSON.stringify(labels)
      counts.set(key, [labels, (counts.get(key)?.[1] ?? 0) + more])
    }
  }

  /** Read when it is asked for; left out when that fails, so that nothing untrue is told. */
  gauge(
    name: string,
    help: string,
    read: () => Reading | Promise<Reading>,
    type: 'gauge' | 'counter' = 'gauge',
  ): void {
    this.#add(name, {
      help,
      type,
      lines: async () => {
        const reading = await Promise.resolve()
          .then(read)
          .catch(() => [])
        return reading.map(([labels, value]) => line(name, labels, value))
      },
    })
  }

  /** How long something took: call what it answers with the labels and the seconds. */
  durations(name: string, help: string): (labels: Labels, seconds: number) => void {
    const kept = new Map<string, Durations>()
    this.#add(name, {
      help,
      type: 'histogram',
      lines: async () => [...kept.values()].flatMap((each) => durationLines(name, each)),
    })
    return (labels, seconds) => {
      const key = JSON.stringify(labels)
      const each = kept.get(key) ?? { labels, sum: 0, count: 0, below: BOUNDS.map(() => 0) }
      kept.set(key, each)
      each.sum += seconds
      each.count++
      for (const [i, bound] of BOUNDS.entries()) if (seconds <= bound) each.below[i]!++
    }
  }

  async text(): Promise<string> {
    const parts: string[] = []
    for (const [name, { help, type, lines }] of this.#measures)
      parts.push(`# HELP ${name} ${help}`, `# TYPE ${name} ${type}`, ...(await lines(name)))
    return parts.join('\n') + '\n'
  }

  #add(name: string, measure: Measure): void {
    if (this.#measures.has(name)) throw new Error(`${name} is measured twice.`)
    this.#measures.set(name, measure)
  }
}

interface Durations {
  labels: Labels
  sum: number
  count: number
  /** How many took no longer than each of the bounds. */
  below: number[]
}

function durationLines(name: string, { labels, sum, count, below }: Durations): string[] {
  const buckets = BOUNDS.map((bound, i) =>
    line(`${name}_bucket`, { ...labels, le: String(bound) }, below[i]!),
  )
  return [
    ...buckets,
    line(`${name}_bucket`, { ...labels, le: '+Inf' }, count),
    line(`${name}_sum`, labels, sum),
    line(`${name}_count`, labels, count),
  ]
}

function line(name: string, labels: Labels, value: number): string {
  const inside = Object.entries(labels).map(([label, text]) => `${label}="${escaped(text)}"`)
  return `${name}${inside.length > 0 ? `{${inside.join(',')}}` : ''} ${value}`
}

function escaped(text: string): string {
  return text.replaceAll('\\', '\\\\').replaceAll('"', '\\"').replaceAll('\n', '\\n')
}
