using System.Globalization;
using HilRunner.Application.Accepting;
using HilRunner.Application.Motions;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Reporting;
using HilRunner.Reporting.Page;
using HilRunner.Scoring.Statistics;
using HilRunner.Scoring.Trivial;

namespace HilRunner.Cli.Screen;

/// <summary>What the claims of an acceptance plan take, and what its recordings give: fits 80 columns.</summary>
internal static class PlanTable
{
    public static void Print(string name, IReadOnlyList<ClaimPlan> claims, int runs, TimeSpan played, string speed,
        TrivialResult? trivial, SameMotions same)
    {
        Terminal.Line($"plan: {name}");
        if (claims.Any(c => c.Sequential is not null)) { PrintSequential(claims); }
        else { PrintFixed(claims); }
        foreach (var c in claims) { Terminal.Line(c.Sequential is null ? Says(c) : SaysSequential(c)); }
        foreach (string note in claims.SelectMany(c => c.Short).Distinct()) { Terminal.Line(note); }
        foreach (string told in same.Told()) { Terminal.Line(told); }
        if (trivial is not null) { Terminal.Line(TrivialWords.Fooled(trivial) ?? TrivialWords.NoneFooled(trivial)); }
        string pace = speed == Core.Runs.Speeds.Real ? "" : $" in real time; at speed {speed} less";
        string most = claims.Any(c => c.Sequential is not null) ? "at most " : "";
        Terminal.Line($"{most}{runs} runs, {Dates.Span(played)} of motion{pace}");
    }

    private static void PrintFixed(IReadOnlyList<ClaimPlan> claims)
    {
        var table = new ScreenTable(wide: true);
        table.AddColumn("claim");
        table.AddColumn(Styled.Lines(["needs, by failures allowed", "0    1    2    3    4    5"]), noWrap: true);
        table.AddColumn("the pool gives");
        foreach (var c in claims)
        {
            if (c.Hours is { } hours)
            {
                table.AddRow(c.Text, string.Concat(hours.Needed.Select(h => Hours(h).PadRight(5))).TrimEnd() + " h", Gives(c));
                continue;
            }
            string needs = string.Concat(c.Needed.Select(n => n.ToString(CultureInfo.InvariantCulture).PadRight(5))).TrimEnd();
            table.AddRow(c.Text, needs, Gives(c));
        }
        Terminal.Write(table);
    }

    private static void PrintSequential(IReadOnlyList<ClaimPlan> claims)
    {
        var table = new ScreenTable(wide: true);
        foreach (string head in (string[])["claim", "accepts after", "refuses at", "trials on average", "the pool gives"]) { table.AddColumn(head); }
        foreach (var c in claims)
        {
            if (c.Test is not { } test) { table.AddRow(c.Text, Figure.Absent, Figure.Absent, Figure.Absent, Gives(c)); continue; }
            int clean = Enumerable.Range(1, test.MostTrials).FirstOrDefault(n => test.Decide(n, 0) == SequentialOutcome.Accept);
            double good = test.At(1 - c.Sequential!.Good).MeanTrials, bad = test.At(1 - c.Claim.AtLeast!.Value).MeanTrials;
            table.AddRow(c.Text, clean == 0 ? Figure.Absent : $"{clean} without failure",
                Failures(Enumerable.Range(1, test.MostTrials).First(n => test.RejectAt(n) <= n)),
                FormattableString.Invariant($"{good:0} at {c.Sequential.Good}, {bad:0} at {c.Claim.AtLeast}"), Gives(c));
        }
        Terminal.Write(table);
    }

    private static string Failures(int n) => n == 1 ? "a first failure" : $"{n} failures in a row";

    private static string SaysSequential(ClaimPlan c) => c.Test is { } test
        ? $"{c.Text}: can be decided, with {test.MostTrials} independent trials at the latest."
        : $"{c.Text}: cannot be decided: {c.Units} independent trials cannot keep both risks. "
            + (c.FewestSequential() is { } fewest ? $"Record {fewest - c.Units} more sources of {c.Claim.Class ?? "any class"}." : "Choose a good share farther from the claim's.");

    private static string Gives(ClaimPlan c) => c.Hours is { } hours ? $"{Hours(hours.Given, given: true)} h" : c.Sources == 0
        ? $"{c.Units} labelled stretches, no source named"
        : c.Sources == c.Units
            ? $"{c.Units} {(c.Units == 1 ? "source" : "sources")} ({c.Stretches} {(c.Stretches == 1 ? "stretch" : "stretches")})" : $"{c.Sources} sources and {c.Units - c.Sources} stretches without one";

    /// <summary>What can be shown, or what is missing.</summary>
    private static string Says(ClaimPlan c)
    {
        if (c.Hours is { } hours) { return SaysHours(c, hours); }
        string what = c.Claim.Class ?? "any class";
        string confidence = Figure.Share(c.Claim.Confidence);
        string shown = c.Shown is { } s ? $"; these {c.Units} show at most {Figure.Share(s)} at {confidence}" : "";
        if (!c.CanBeShown) { return $"{c.Text}: cannot be shown{shown}. Record {c.Needed[0] - c.Units} more sources of {what}."; }
        int failures = c.Needed.TakeWhile(n => n <= c.Units).Count() - 1;
        return $"{c.Text}: can be shown with {(failures == 0 ? "no failure" : failures == 1 ? "at most 1 failure" : $"at most {failures} failures")}.";
    }

    private static string SaysHours(ClaimPlan c, HoursPlan hours)
    {
        if (!c.CanBeShown)
        {
            return double.IsFinite(hours.Needed[0])
                ? $"{c.Text}: cannot be shown. Record {Hours(hours.Needed[0] - hours.Given)} h more of other motion."
                : $"{c.Text}: cannot be shown: no time shows that there are none at all. Claim a number above 0.";
        }
        int alarms = hours.Needed.TakeWhile(n => n <= hours.Given).Count() - 1;
        return $"{c.Text}: can be shown with {(alarms == 0 ? "no false alarm" : alarms == 1 ? "at most 1 false alarm" : $"at most {alarms} false alarms")}.";
    }

    /// <summary>Hours that it takes, rounded up; with <paramref name="given"/>: that there are, rounded down.</summary>
    private static string Hours(double hours, bool given = false)
    {
        if (!double.IsFinite(hours)) { return Figure.Absent; }
        double scale = given && hours < 0.1 ? 10_000 : hours < 10 ? 100 : 1;
        return ((given ? Math.Floor(hours * scale) : Math.Ceiling(hours * scale)) / scale).ToString(CultureInfo.InvariantCulture);
    }
}
