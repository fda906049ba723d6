using HilRunner.Core.Runs;
using HilRunner.History.Database;

namespace HilRunner.History.Reading;

/// <summary>Questions to a history. What it answers is as good as what was taken in; the folders of the runs are the record.</summary>
public static class HistoryReader
{
    /// <summary>Looked at for how long they took: some nights of hundreds.</summary>
    private const int MostRuns = 5000;

    private const string Batch =
        """
        select b.id as Id, b.name as Name, b.started_ms as StartedMs, b.ended_ms as EndedMs, b.verdict as Verdict, b.reason as Reason, b.host as Host, b.folder as Folder,
               i.label as Label, i.sha256 as Sha256, b.planned as Planned, (select count(*) from runs r where r.batch_id = b.id) as Runs,
               b.definitions as Definitions,
               (select count(*) from runs r where r.batch_id = b.id and r.counts = 1 and r.delivery is not null) as DeliveryKnown,
               (select count(*) from runs r where r.batch_id = b.id and r.counts = 1 and r.delivery = 'not shown') as DeliveryNotShown
        from batches b join builds i on i.id = b.build_id
        """;

    /// <summary>Newest first.</summary>
    public static IReadOnlyList<SuiteEntry> Suites(HistoryDatabase history) =>
        Checked(history).Query<SuiteEntry>("select name as Name, count(*) as Batches, max(started_ms) as NewestMs from batches group by name order by max(started_ms) desc, name");

    /// <summary>The newest batches of a suite, newest first.</summary>
    public static IReadOnlyList<BatchEntry> Newest(HistoryDatabase history, string suite, int most) =>
        Checked(history).Query<BatchEntry>(Batch + " where b.name = @suite order by b.started_ms desc limit @most", new { suite, most });

    /// <summary>
    /// All of them by their keys: true where it need not be taken in again. It must be where it had not reached its end, and
    /// where it was taken in before histories knew by which definitions a run was scored.
    /// </summary>
    public static IReadOnlyDictionary<string, bool> Known(HistoryDatabase history) =>
        HistoryDatabase.Guarded(Checked(history).Place, () =>
        history.Query<(string Key, long Done)>(
            """
            select b.key, cast(case when b.ended_ms is null or exists (select 1 from runs r where r.batch_id = b.id and r.score_schema is null) then 0 else 1 end as bigint)
            from batches b
            """).ToDictionary(b => b.Key, b => b.Done == 1));

    /// <summary>Of the same batches as <see cref="Newest"/> gives.</summary>
    public static IReadOnlyList<FigureEntry> Figures(HistoryDatabase history, string suite, int most) => Checked(history).Query<FigureEntry>(
        """
        select batch_id as BatchId, output as Output, class as Class, measure as Measure, statistic as Statistic, value as Value, trials as Trials
        from figures where batch_id in (select id from batches where name = @suite order by started_ms desc limit @most)
        """,
        new { suite, most });

    /// <summary>Batches of a suite that reached their end and passed on another build than this one, newest first.</summary>
    /// <param name="but">A build of which nothing is known is another one than any.</param>
    public static IReadOnlyList<BatchEntry> Good(HistoryDatabase history, string suite, BuildIdentity but, int most)
    {
        ArgumentNullException.ThrowIfNull(but);
        return Checked(history).Query<BatchEntry>(
            Batch +
            """

             where b.name = @suite and b.verdict = 'pass' and b.ended_ms is not null
               and not (@sha256 <> '' and i.sha256 = @sha256) and not ((@sha256 = '' or i.sha256 = '') and @label <> '' and i.label = @label)
             order by b.started_ms desc limit @most
            """,
            new { suite, most, label = but.Label ?? "", sha256 = but.Sha256 ?? "" });
    }

    /// <summary>
    /// Trials that were recognised in one play and not in another on the very same image, in runs that count. Only images whose hash is known: a
    /// label alone may stand for two builds, and a trial that one of them broke is not flaky.
    /// </summary>
    /// <param name="suite">Null: of all.</param>
    /// <param name="image">Null: any image; otherwise its SHA-256.</param>
    public static IReadOnlyList<FlippedEntry> Flipped(HistoryDatabase history, string? suite, string? image) =>
        Checked(history).Query<FlippedEntry>(
            """
            select s.scenario as Scenario, s.motion as Motion, s.output as Output, s.class as Class, s.start_ns as StartNs, max(i.label) as Label, i.sha256 as Sha256,
                   count(*) as Plays, sum(t.recognised) as Recognised
            from batches b join builds i on i.id = b.build_id join runs r on r.batch_id = b.id join trials t on t.run_id = r.id join stretches s on s.id = t.stretch_id
            where i.sha256 <> '' and r.counts = 1 and t.counted = 1 and (@suite = '' or b.name = @suite) and (@image = '' or i.sha256 = @image)
            group by s.id, s.scenario, s.motion, s.output, s.class, s.start_ns, i.sha256
            having min(t.recognised) < max(t.recognised)
            order by s.scenario, s.start_ns, s.class, i.sha256
            """,
            new { suite = suite ?? "", image = image ?? "" });

    /// <summary>How long the newest runs took that reached their end on a healthy rig, newest first.</summary>
    public static IReadOnlyList<RunDuration> Durations(HistoryDatabase history) => Checked(history).Query<RunDuration>(
        """
        select r.scenario as Scenario, g.name as Rig, r.speed as Speed, r.ended_ms - r.started_ms as TookMs
        from runs r join rigs g on g.id = r.rig_id
        where r.ended_ms is not null and r.counts = 1
        order by r.started_ms desc limit @MostRuns
        """,
        new { MostRuns });

    private static HistoryDatabase Checked(HistoryDatabase history)
    {
        ArgumentNullException.ThrowIfNull(history);
        return history;
    }
}
