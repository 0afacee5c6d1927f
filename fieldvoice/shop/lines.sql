-- The lines of all logs as one table, and what counts of them. Everything else asks these tables.
-- $files: the logs, one event a line; $modes: which jobs, of 'work', 'recording', 'practice',
-- 'replay'.
--
-- A line's envelope: turn is the seq of the first line of what was logged at once, turn_lines how
-- many lines that has; utc is in UTC, the offset of the site's clock apart; hash is the line's own.
-- Without a list of columns DuckDB finds the types by itself, all of them right, with
--     read_json('jobs/*/log.jsonl', map_inference_threshold = -1, sample_size = -1)
-- (left at their defaults, it takes `data` for a map, as its fields differ from kind to kind, and
-- looks at the first lines alone).
--
-- Over object storage with a larger engine: make `line` an external table or a view over
-- jobs/*/log.jsonl (in DuckDB: read_json('s3://BUCKET/jobs/*/log.jsonl', ...) after LOAD httpfs)
-- with the same columns; `folder` is then the part of the path before log.jsonl, or the field job.
-- The rest is plain SQL but for these words of DuckDB: unnest, list_filter, arg_max, arg_min,
-- quantile_cont, string_agg with an order. Other engines have them under names of their own.
create table line as
select
    parse_path(filename)[-2] as folder, filename as log, seq, turn, turn_lines, job, utc, "offset",
    kind, data, hash,
    coalesce(unit, '') as unit,
    -- the time on site, whose offset stands apart: '-05:00'
    (utc at time zone 'UTC') + to_minutes(cast(coalesce(
        (case when "offset" like '-%' then -1 else 1 end)
        * (60 * try_cast(substr("offset", 2, 2) as integer)
           + try_cast(substr("offset", 5, 2) as integer)), 0) as integer)) as moment
from read_json(
    $files, format = 'newline_delimited', ignore_errors = true, filename = true,
    hive_partitioning = false, maximum_object_size = 67108864,
    columns = {
        seq: 'BIGINT', turn: 'BIGINT', turn_lines: 'BIGINT', job: 'VARCHAR', utc: 'TIMESTAMPTZ',
        "offset": 'VARCHAR', kind: 'VARCHAR', unit: 'VARCHAR', hash: 'VARCHAR',
        data: 'STRUCT(
            procedure VARCHAR, mode VARCHAR, ending VARCHAR, step VARCHAR, line BIGINT,
            site STRUCT(name VARCHAR, "text" VARCHAR, number DOUBLE, unit VARCHAR)[],
            fact VARCHAR, "value" VARCHAR, number DOUBLE, unit VARCHAR,
            words VARCHAR, source VARCHAR, confidence DOUBLE, outcome VARCHAR, intent VARCHAR,
            meant STRUCT(name VARCHAR, "text" VARCHAR)[],
            speech_db DOUBLE, noise_db DOUBLE, clipped BOOLEAN,
            corrects BIGINT, withdraws BIGINT, quantity VARCHAR,
            about VARCHAR, verdict VARCHAR,
            figures STRUCT(name VARCHAR, "text" VARCHAR, number DOUBLE)[],
            stage VARCHAR, called VARCHAR)'
    }
);

-- what cannot be read: rubbish, a line cut short, a field of a wrong type in the envelope
create table ignored as
select log, folder, count(*) as lines from line
where seq is null or kind is null or utc is null group by all;

create table job as
select folder, coalesce(max(data.mode) filter (kind = 'job-started'), 'work') as mode
from line where seq is not null group by folder;

-- an event counts unless it was taken back; taking that back puts it back: the newest word decides
create table gone as
with taken as (
    select folder, unit, seq, data.withdraws as target from line where kind = 'withdrawn'
),
word as (
    select t.folder, coalesce(before.target, t.target) as target, t.seq,
           before.seq is null as away
    from taken t left join taken before on before.folder = t.folder and before.seq = t.target
)
select folder, target as seq from word group by all having arg_max(away, seq);

create table entry as
select line.*,
    -- what was reviewed, put right or attached beside the work or afterwards is no work
    kind not in ({beside}) and (kind not in ({beside_unless_said}) or data.line is not null)
    as is_work
from line
where seq is not null and kind is not null and utc is not null
  and folder in (select folder from job where list_contains($modes, mode))
  and not exists (select 1 from gone where gone.folder = line.folder and gone.seq = line.seq);
