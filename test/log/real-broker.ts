// Real brokers for the tests, from whatever this machine has: addresses given in
// HEAT_TO_PAN_TEST_BROKERS, a container engine, or Kafka's own jars from Maven on the Java that is
// installed. Where there is none of these the suites are skipped and say why; REQUIRE_KAFKA=1 makes
// that a failure.
import { execFile } from 'node:child_process'
import { existsSync } from 'node:fs'
import { mkdir, readdir, rename, rm, writeFile } from 'node:fs/promises'
import { connect } from 'node:net'
import { join } from 'node:path'
import { promisify } from 'node:util'
import { afterAll, beforeAll, describe, it } from 'vitest'
import { type Cluster, type ClusterWish, startCluster } from './broker-cluster.ts'

const run = promisify(execFile)

const KAFKA = process.env.KAFKA_VERSION ?? '4.3.1'
const CACHE = join(import.meta.dirname, '../../node_modules/.cache/kafka', KAFKA)
/** The image that the testcontainers module knows how to start; its version 8 is Kafka 4. */
const IMAGE = 'confluentinc/cp-kafka:8.1.1'

export interface Brokers {
  /** Each host:port. */
  addresses: string[]
  stop(): Promise<void>
}

/** Declares a suite that needs any one broker, or skips it with the reason. Ask for it inside tests. */
export function withBroker(title: string, suite: (broker: () => Brokers) => void): void {
  declare(title, anyBroker, suite)
}

/** Declares a suite that kills brokers and restores their disks: only our own will do. */
export function withCluster(
  title: string,
  wish: ClusterWish,
  suite: (cluster: () => Cluster) => void,
): void {
  declare(title, ownCluster(wish), suite)
}

/** Starts brokers of our own; or why that cannot be. */
export async function ownCluster(wish: ClusterWish): Promise<string | (() => Promise<Cluster>)> {
  const lib = await libFolder
  return typeof lib === 'string' ? lib : () => startCluster(lib.folder, wish)
}

type Found<T> = Promise<string | (() => Promise<T>)>

function declare<T extends Brokers>(
  title: string,
  found: Found<T>,
  suite: (brokers: () => T) => void,
): void {
  describe(title, async () => {
    const start = await found
    if (typeof start === 'string') {
      const reason = `${title}: no Kafka here. ${start}`
      console.log(reason)
      if (process.env.REQUIRE_KAFKA !== '1') return it.skip('needs a broker')
      return it('has a broker', () => {
        throw new Error(reason)
      })
    }
    let brokers: T | undefined
    beforeAll(async () => {
      brokers = await start()
    })
    afterAll(() => brokers?.stop())
    suite(() => brokers!)
  })
}

const libFolder: Promise<{ folder: string } | string> = fetchJars()

const anyBroker: Found<Brokers> = (async () => {
  const given = process.env.HEAT_TO_PAN_TEST_BROKERS
  if (given) {
    const addresses = given.split(',')
    const silent = await Promise.all(addresses.map(refuses))
    if (silent.every(Boolean)) return `HEAT_TO_PAN_TEST_BROKERS is ${given} and nobody answers.`
    return async () => ({ addresses, stop: async () => undefined })
  }
  const engine = await findEngine()
  if (engine === undefined) return startContainer
  const lib = await libFolder
  if (typeof lib === 'string') return `${engine} ${lib}`
  return () => startCluster(lib.folder, { brokers: 1 })
})()

/** Why there is no container engine; undefined when there is one. */
async function findEngine(): Promise<string | undefined> {
  try {
    const { getContainerRuntimeClient } = await import('testcontainers')
    await getContainerRuntimeClient()
    return undefined
  } catch (error) {
    return `No container engine: ${(error as Error).message}.`
  }
}

async function startContainer(): Promise<Brokers> {
  const { KafkaContainer } = await import('@testcontainers/kafka')
  const container = await new KafkaContainer(IMAGE).withKraft().start()
  return {
    addresses: [`${container.getHost()}:${container.getMappedPort(9093)}`],
    stop: async () => void (await container.stop()),
  }
}

/** The folder of Kafka's jars, fetched once; or why there is none. */
async function fetchJars(): Promise<{ folder: string } | string> {
  const folder = join(CACHE, 'lib')
  const java = await run('java', ['-version']).then(
    () => true,
    () => false,
  )
  if (!java) return 'No Java either: install a JRE of version 17 or newer.'
  if (existsSync(folder)) return { folder }
  const making = join(CACHE, `lib-${process.pid}`)
  try {
    await mkdir(making, { recursive: true })
    const pom = join(making, 'pom.xml')
    await writeFile(pom, POM)
    const plugin = 'org.apache.maven.plugins:maven-dependency-plugin:3.8.1:copy-dependencies'
    const options = ['-DincludeScope=runtime', `-DoutputDirectory=${making}`]
    await run('mvn', ['-q', '-B', '-f', pom, plugin, ...options], { timeout: 300_000 })
    await rm(pom)
    // Several test files may fetch at once; whoever is first wins, and all have the same.
    await rename(making, folder).catch(() => rm(making, { recursive: true }))
    const jars = await readdir(folder)
    if (!jars.some((jar) => jar.startsWith('kafka_'))) return `No kafka jar came into ${folder}.`
    return { folder }
  } catch (error) {
    await rm(making, { recursive: true, force: true })
    return `Kafka ${KAFKA} could not be fetched by mvn: ${(error as Error).message}`
  }
}

/** Kafka writes its log by slf4j 1.7, so the binding is not the one for slf4j 2. */
const POM = `<project xmlns="http://maven.apache.org/POM/4.0.0"><modelVersion>4.0.0</modelVersion>
  <groupId>local.test</groupId><artifactId>broker</artifactId><version>1</version>
  <packaging>pom</packaging>
  <dependencies>
    ${dependency('org.apache.kafka', 'kafka_2.13', KAFKA)}
    ${['log4j-api', 'log4j-core', 'log4j-slf4j-impl']
      .map((name) => dependency('org.apache.logging.log4j', name, '2.24.3'))
      .join('\n    ')}
  </dependencies>
</project>`

function dependency(group: string, artifact: string, version: string): string {
  return `<dependency><groupId>${group}</groupId><artifactId>${artifact}</artifactId><version>${version}</version></dependency>`
}

/** True when nobody listens there. */
export function refuses(address: string): Promise<boolean> {
  const [host, port] = address.split(':')
  return new Promise((done) => {
    const socket = connect(Number(port), host)
    socket.setTimeout(1_000, () => socket.destroy(new Error('silent')))
    socket.on('connect', () => {
      socket.destroy()
      done(false)
    })
    socket.on('error', () => done(true))
  })
}
