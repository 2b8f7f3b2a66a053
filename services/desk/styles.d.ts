declare module '*.css?inline' {
  const css: string
  export = css
}
