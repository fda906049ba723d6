using System.Data.Common;
using System.Globalization;
using Dapper;
using HilRunner.Core.Runs;
using HilRunner.History.Database;
using HilRunner.Scoring;

namespace HilRunner.History.Recording;

/// <summary>Takes batches into a history. A batch that is in it already is replaced: taking in twice is the same as once.</summary>
public static class HistoryWriter
{
    /// <summary>Stands for a schema where there is no score; null means that nobody asked.</summary>
    private const int NeverScored = 0;

    /// <exception cref="HistoryException">Nothing of the batch was taken in; what was known of it before is still there.</exception>
    public static void Record(HistoryDatabase history, RecordedBatch batch)
    {
        ArgumentNullException.ThrowIfNull(history);
        ArgumentNullException.ThrowIfNull(batch);
        var figures = BatchFigures.Of(batch);
        history.Write(transaction =>
        {
            var write = new Statements(transaction);
            write.Run("delete from batches where key = @Key", new { batch.Key });
            long id = write.Id(
                """
                insert into batches (key, name, build_id, started_ms, ended_ms, verdict, reason, planned, host, tool, folder, definitions)
                values (@Key, @Name, @build, @started, @ended, @verdict, @Reason, @Planned, @Host, @ToolVersion, @Folder, @Definitions) returning id
                """,
                new
                {
                    batch.Key, batch.Name, build = Build(write, batch), started = Ms(batch.Started), ended = Ms(batch.Ended), verdict = Word(batch.Verdict),
                    batch.Reason, batch.Planned, batch.Host, batch.ToolVersion, batch.Folder, batch.Definitions,
                });
            foreach (var run in batch.Runs) { Run(write, id, run); }
            write.Run(
                "insert into figures (batch_id, output, class, measure, statistic, value, trials) values (@id, @Output, @Class, @Measure, @Statistic, @Value, @Trials)",
                figures.Select(f => new { id, f.Output, f.Class, f.Measure, f.Statistic, Value = Finite(f.Value), f.Trials }));
        });
    }

    private static long Build(Statements write, RecordedBatch batch)
    {
        // What the device answers stands in for a file that was not given: it names the image that was really running.
        string? image = batch.Build.Sha256 ?? batch.Runs.Select(r => r.DeviceImage).FirstOrDefault(i => i is not null);
        return write.Known("builds", ("label", batch.Build.Label ?? ""), ("sha256", image ?? ""));
    }

    private static void Run(Statements write, long batch, RecordedRun run)
    {
        long rig = write.Known("rigs", ("name", run.Rig));
        long id = write.Id(
            """
            insert into runs (batch_id, rig_id, folder, scenario, motion, repeat, seed, speed, started_ms, ended_ms, verdict, counts, score_schema, delivery)
            values (@batch, @rig, @Id, @Scenario, @Motion, @Repeat, @seed, @Speed, @started, @ended, @verdict, @counts, @schema, @delivery) returning id
            """,
            new
            {
                batch, rig, run.Id, run.Scenario, run.Motion, run.Repeat, seed = run.Seed.ToString(CultureInfo.InvariantCulture), run.Speed,
                started = Ms(run.Started), ended = Ms(run.Ended), verdict = Word(run.Score?.Verdict), counts = run.Counts ? 1 : 0,
                schema = run.Score?.Schema ?? run.StoredSchema ?? NeverScored,
                    delivery = run.Score?.Delivery is { } delivery ? Delivery.Word(delivery.Outcome) : null,
            });
        Trials(write, id, run);
    }

    private static void Trials(Statements write, long run, RecordedRun of)
    {
        var known = write.Rows<(long Id, string Output, string Class, long StartNs)>(
                "select id, output, class, start_ns from stretches where scenario = @Scenario and motion = @Motion", new { of.Scenario, of.Motion })
            .ToDictionary(s => (s.Output, s.Class, s.StartNs), s => s.Id);
        var rows = new List<object?[]>();
        foreach (var output in of.Score?.Outputs ?? [])
        {
            // Two trials of a class that begin at one instant do not exist; a file may say so all the same.
            foreach (var trial in output.Trials.DistinctBy(t => (t.Class, t.StartNs)))
            {
                var key = (output.Output, trial.Class, trial.StartNs);
                if (!known.TryGetValue(key, out long stretch))
                {
                    known[key] = stretch = write.Id(
                        "insert into stretches (scenario, motion, output, class, start_ns) values (@Scenario, @Motion, @Output, @Class, @StartNs) returning id",
                        new { of.Scenario, of.Motion, output.Output, trial.Class, trial.StartNs });
                }
                rows.Add([
                    run, stretch, trial.Counted ? 1 : 0, trial.Recognised ? 1 : 0, trial.Already ? 1 : 0, trial.ReactionNs, trial.SettlingNs, trial.ReportLatencyNs, trial.Chatter,
                ]);
            }
        }
        write.Insert("trials (run_id, stretch_id, counted, recognised, already, reaction_ns, settling_ns, report_latency_ns, chatter)", rows);
    }

    private static long Ms(DateTimeOffset at) => at.ToUnixTimeMilliseconds();

    private static long? Ms(DateTimeOffset? at) => at?.ToUnixTimeMilliseconds();

    private static string? Word(Verdict? verdict) => verdict is { } v ? Verdicts.Word(v) : null;

    private static double? Finite(double? value) => value is { } v && double.IsFinite(v) ? v : null;

    /// <summary>Statements of one transaction.</summary>
    private sealed class Statements(DbTransaction transaction)
    {
        private const int RowsAtOnce = 50;
        private readonly Dictionary<string, long> _known = new(StringComparer.Ordinal);

        public void Run(string sql, object parameters) => transaction.Connection!.Execute(sql, parameters, transaction);

        public long Id(string sql, object parameters) => transaction.Connection!.QuerySingle<long>(sql, parameters, transaction);

        public List<T> Rows<T>(string sql, object parameters) => [.. transaction.Connection!.Query<T>(sql, parameters, transaction)];

        /// <summary>Many rows in few statements: each is a round trip where the database is another machine.</summary>
        /// <param name="into">Table and columns.</param>
        public void Insert(string into, IReadOnlyList<object?[]> rows)
        {
            foreach (var chunk in rows.Chunk(RowsAtOnce))
            {
                var parameters = new DynamicParameters();
                var values = chunk.Select((row, r) => "(" + string.Join(", ", row.Select((value, c) =>
                {
                    string name = FormattableString.Invariant($"p{r}_{c}");
                    parameters.Add(name, value, value is null ? System.Data.DbType.Int64 : null);
                    return "@" + name;
                })) + ")");
                transaction.Connection!.Execute($"insert into {into} values {string.Join(", ", values)}", parameters, transaction);
            }
        }

        /// <summary>The row of a table in which each thing stands once; made where it is new.</summary>
        public long Known(string table, params (string Column, object Value)[] identity)
        {
            string key = table + "\n" + string.Join('\n', identity.Select(i => Convert.ToString(i.Value, CultureInfo.InvariantCulture)));
            if (_known.TryGetValue(key, out long id)) { return id; }
            var parameters = new DynamicParameters();
            foreach (var (column, value) in identity) { parameters.Add(column, value); }
            string columns = string.Join(", ", identity.Select(i => i.Column)), values = string.Join(", ", identity.Select(i => "@" + i.Column));
            string where = string.Join(" and ", identity.Select(i => $"{i.Column} = @{i.Column}"));
            id = transaction.Connection!.QuerySingleOrDefault<long?>($"select id from {table} where {where}", parameters, transaction)
                ?? Id($"insert into {table} ({columns}) values ({values}) returning id", parameters);
            return _known[key] = id;
        }
    }
}
