using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.RunPage;

/// <summary>What a limit is about, its class in its colour: "carried recognised", "dropped reaction p95".</summary>
internal static class LimitName
{
    public static Markup Of(LimitOutcome l, ClassColours colours)
    {
        Markup name = l.Limit.Class is { } c ? Markup.Of($"{colours.Label(c)} ") : Markup.Empty;
        string statistic = l.Limit.Statistic is { } s ? " " + s.ToString().ToLowerInvariant() : "";
        string output = l.Output.Length == 0 ? "" : $" ({l.Output})";
        return Markup.Of($"{name}{Words.Of(l.Limit.Measure)}{statistic}{output}");
    }
}
