// The tab of the as-built record.

export function beginBuiltTab() {}
