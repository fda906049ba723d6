using HilRunner.History.Database;
using HilRunner.History.Reading;
using HilRunner.Scoring;

namespace HilRunner.Application.Histories;

/// <summary>What is looked at over time.</summary>
/// <param name="Measure">A word of score.json.</param>
/// <param name="Statistic">p50 or p95 of a latency; "" of what has none.</param>
/// <param name="Class">Null: every one.</param>
internal sealed record HistoryFigure(string Measure, string Statistic, string? Class)
{
    public static readonly IReadOnlyList<string> Measures =
        ["recognised", "reaction", "report_latency", "accuracy", "chatter_per_minute", "false_alarms", "device_resets", "device_silences"];

    public static bool IsLatency(string measure) => measure is "reaction" or "report_latency";

    /// <summary>"reaction p95", "chatter per minute".</summary>
    public string Shown => (Measure.Replace('_', ' ') + " " + Statistic).TrimEnd();

    public bool Is(FigureEntry figure) => figure.Measure == Measure && figure.Statistic == Statistic && (Class is null || figure.Class == Class);
}

/// <summary>A figure of one output and class over the batches of a suite.</summary>
/// <param name="Values">In the order of the batches; null: not known in that one.</param>
internal sealed record FigureTrend(string Output, string Class, IReadOnlyList<FigureEntry?> Values);

/// <summary>The newest batches of a suite, newest first, with one figure by class.</summary>
internal sealed record SuiteHistory(string Name, IReadOnlyList<BatchEntry> Batches, IReadOnlyList<FigureTrend> Trends)
{
    /// <summary>Place of the newest batch that passed, apart from the newest of all; −1: none did.</summary>
    public int LastGood => Batches.Skip(1).ToList().FindIndex(b => b.Verdict == Verdicts.Word(Verdict.Pass)) is var i && i < 0 ? -1 : i + 1;

    public bool SeveralOutputs => Trends.Select(t => t.Output).Where(o => o.Length > 0).Distinct(StringComparer.Ordinal).Count() > 1;

    public static SuiteHistory Of(HistoryDatabase history, string suite, HistoryFigure figure, int most)
    {
        var batches = HistoryReader.Newest(history, suite, most);
        var figures = HistoryReader.Figures(history, suite, most).Where(figure.Is).ToLookup(f => (f.Output, f.Class));
        var trends = figures.OrderBy(g => g.Key.Output, StringComparer.Ordinal).ThenBy(g => g.Key.Class, StringComparer.Ordinal)
            .Select(g => new FigureTrend(g.Key.Output, g.Key.Class, [.. batches.Select(b => g.FirstOrDefault(f => f.BatchId == b.Id))]));
        return new(suite, batches, [.. trends]);
    }
}
