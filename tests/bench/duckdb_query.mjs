// The yardstick: DuckDB, one thread, answers only "when did each watched symbol first trade at or above its pivot, and what did
// it trade" over the same file. Times stay text, which spares it the parsing that the replay does.
// Usage: duckdb_query.mjs TAPE.csv WATCHES.csv; prints seconds of the query, and what it found.
import { DuckDBInstance } from "@duckdb/node-api";

const [tape, watches] = process.argv.slice(2).map((path) => path.replaceAll("'", "''"));
const instance = await DuckDBInstance.create(":memory:", { threads: "1" });
const connection = await instance.connect();
const query = `
  SELECT t.symbol, sum(t.size) AS volume,
         min(t.time) FILTER (WHERE t.price >= w.level AND NOT regexp_matches(coalesce(t.conditions, ''), '[IBZ]')) AS first_at
  FROM read_csv('${tape}', header = true, columns = {'time': 'VARCHAR', 'symbol': 'VARCHAR', 'price': 'DECIMAL(18,6)',
                'size': 'BIGINT', 'conditions': 'VARCHAR', 'exchange': 'VARCHAR'}) t
  JOIN (SELECT symbol, min("pivot") AS level FROM read_csv('${watches}', header = true, columns = {'symbol': 'VARCHAR',
        'pivot': 'DECIMAL(18,6)', 'normal_volume': 'BIGINT'}) GROUP BY symbol) w USING (symbol)
  GROUP BY t.symbol`;
const started = process.hrtime.bigint();
const rows = (await connection.runAndReadAll(query)).getRows();
const seconds = Number(process.hrtime.bigint() - started) / 1e9;
const crossed = rows.filter((row) => row[2] !== null).length;
console.log(JSON.stringify({ seconds, symbols: rows.length, crossed }));
