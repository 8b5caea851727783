// A job file as the JSON that the handheld's serial port takes. Only what `keyway` itself writes is understood:
// tables, strings, numbers, truth values and lists in one line.

export function jobAsJson(text) {
  const job = {};
  let table = job;
  for (const line of text.split(/\r?\n/)) {
    const bare = line.replace(/#[^"]*$/, '').trim();
    if (bare === '') continue;
    const header = /^\[([a-z_]+)\]$/.exec(bare);
    if (header) {
      table = job[header[1]] = {};
      continue;
    }
    const entry = /^([a-z_0-9]+)\s*=\s*(.+)$/.exec(bare);
    if (!entry) throw new Error(`job file: "${line}" is not understood here`);
    // Strings, numbers, truth values and lists of them are written alike in both, but for a bare trailing point.
    table[entry[1]] = JSON.parse(entry[2].replace(/(\d)\.(?=[,\]\s]|$)/g, '$1.0'));
  }
  return job;
}
