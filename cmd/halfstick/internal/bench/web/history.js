// The last seconds of every live column, as they came.
export class History {
  constructor(seconds) {
    this.keep = seconds * 1e6;
    this.clear(0);
  }

  clear(rig) {
    this.rig = rig;
    this.t = [];
    this.counts = [];
    this.command = [];
    this.from = 0; // of what is still kept
  }

  add(rows) {
    if (rows.rig !== this.rig) this.clear(rows.rig);
    append(this.t, rows.t);
    rows.counts.forEach((values, i) => append((this.counts[i] ||= []), values));
    rows.command.forEach((values, i) => append((this.command[i] ||= []), values || rows.t.map(() => null)));
    const oldest = this.newest() - this.keep;
    while (this.from < this.t.length && this.t[this.from] < oldest) this.from++;
    if (this.from > 20000) this.drop();
  }

  newest() {
    return this.t.length ? this.t[this.t.length - 1] : 0;
  }

  drop() {
    for (const list of [this.t, ...this.counts, ...this.command]) list.splice(0, this.from);
    this.from = 0;
  }
}

function append(list, values) {
  for (const v of values) list.push(v);
}
