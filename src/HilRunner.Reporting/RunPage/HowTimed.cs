using HilRunner.Core.Runs;
using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.RunPage;

/// <summary>How the two latencies of a run were timed, and how far that can be trusted, in a sentence.</summary>
internal static class HowTimed
{
    /// <summary>Why a decision's place in stimulus time has no bound.</summary>
    public const string NotProven = "not proven: timed by arrival, and what the link took is an estimate";
    /// <summary>Why a report latency has no bound.</summary>
    public const string WakeNotKnown = "not known: the host's wake-ups were not measured in this run";

    /// <summary>A half-width: "exact", "0.41 ms", or absent with the reason.</summary>
    public static Markup Bound(long? ns, string whyUnknown) => ns switch
    {
        null => HtmlPage.Absent(whyUnknown),
        0 => Markup.Of($"exact"),
        { } u => Markup.Of($"{Figure.Uncertainty(u / 1e9)}"),
    };

    public static string Decisions(StoredRun run, OutputScore score)
    {
        var decisions = run.Decisions.Where(d => d.Output == score.Output && d.Time.Ns >= 0 && d.Time < run.End).ToList();
        if (decisions.Count == 0) { return "The device made no decision."; }
        var ways = decisions.GroupBy(d => d.Timing).OrderBy(g => g.Key).Select(g => (How: Way(run, [.. g]), Count: g.Count())).ToList();
        return ways.Count == 1
            ? $"Timed {ways[0].How}."
            : string.Concat(ways.Select((w, i) => FormattableString.Invariant($"{(i == 0 ? "Timed" : " ")} {w.Count} of {decisions.Count} {w.How}{(i == ways.Count - 1 ? "." : ";")}")));
    }

    public static string Reports(StoredRun run, OutputScore score)
    {
        var reported = score.Trials.Where(t => t.ReportLatencyNs is not null).ToList();
        if (reported.Count == 0)
        {
            if (run.Manifest.Speed != "real") { return $"Not known: it is measured in real time only, and this run was played at speed {run.Manifest.Speed}."; }
            return run.Decisions.Any(d => d.Output == score.Output && d.ArrivalNs is not null) && run.Playout.Count > 0
                ? "Not known: no message reported an onset."
                : "Not known: neither arrival nor playing times are known for this run.";
        }
        if (reported.Any(t => t.ReportUncertaintyNs is null)) { return "Timed by the host's stamps; how late those may be is not known, as its wake-ups were not measured in this run."; }
        string wire = run.Timing.ByteNs is { } b ? $", and the time of the message's bytes on the wire ({Figure.Nanoseconds(b)} each)" : "";
        string wake = run.Timing.WakeNs is { } w ? $": 99.9 % of its wake-ups took at most {Figure.Nanoseconds(w)}{wire}" : "";
        return $"Timed by the host's stamps, within ± {Figure.Uncertainty(reported.Max(t => t.ReportUncertaintyNs) / 1e9)}{wake}.";
    }

    private static string Way(StoredRun run, List<Decision> decisions)
    {
        switch (decisions[0].Timing)
        {
            case DecisionTiming.Sample:
                return "by sample number: exact";
            case DecisionTiming.DeviceClock:
                return decisions.Any(d => d.UncertaintyNs is null)
                    ? "by the device's clock, whose bound is not known"
                    : $"by the device's clock, within ± {Figure.Uncertainty(decisions.Max(d => d.UncertaintyNs) / 1e9)}";
            default:
                string from = run.Timing.LinkFrom.Length > 0 ? $" ({run.Timing.LinkFrom})" : "";
                return run.Timing.LinkNs is { } link
                    ? $"by arrival less a link time of {Figure.Nanoseconds(link)}{from}: not proven"
                    : "by arrival, the link's time not taken off: not proven";
        }
    }
}
