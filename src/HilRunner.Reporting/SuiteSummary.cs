using HilRunner.Core.Files;
using HilRunner.Scoring;
using HilRunner.Scoring.Comparing;

namespace HilRunner.Reporting;

/// <summary>A suite in a few lines of plain text, to be posted to a chat or mailed: the first line says it all.</summary>
public static class SuiteSummary
{
    private const int MostReasons = 5, MostChanges = 5;

    /// <summary>"fail: nightly, build 1.5.0: 118 of 120 runs passed; worse than 1.4.0".</summary>
    public static string Line(SuiteResult suite)
    {
        ArgumentNullException.ThrowIfNull(suite);
        var counted = suite.Runs.Where(r => !r.PlayedAgain).ToList();
        string build = (suite.Build.Label ?? suite.Build.Image) is { } named ? $", build {named}" : "";
        string since = suite.Comparison is { } c ? $"; {(c.Comparison.Overall is Change.Worse or Change.Better ? $"{CompareWords.Of(c.Comparison.Overall)} than" : $"{CompareWords.Of(c.Comparison.Overall)} since")} {c.Baseline}" : "";
        string delivery = DeliveryWords.Count(suite) is { Length: > 0 } said ? "; " + said : "";
        return $"{Words.Of(suite.Verdict)}: {suite.Name}{build}: {counted.Count(r => r.Verdict == Verdict.Pass)} of {counted.Count} runs passed{delivery}{since}";
    }

    /// <param name="report">Path of the whole report.</param>
    public static void Write(SuiteResult suite, string report, TextWriter output)
    {
        ArgumentNullException.ThrowIfNull(suite);
        ArgumentNullException.ThrowIfNull(output);
        Say(Line(suite));
        if (suite.Comparison is { } since)
        {
            Say("", $"Since {since.Baseline}: {CompareWords.Of(since.Comparison.Overall)}. {CompareWords.Answer(since)}");
            foreach (var d in since.Comparison.Differences.Where(d => d.Change is Change.Worse or Change.Better)
                .Take(MostChanges))
            {
                Say($"- {CompareWords.Name(d, since.SeveralOutputs)}: {CompareWords.Of(d.Change)}, {CompareWords.Shown(d)}");
            }
        }
        if (suite.Verdict != Verdict.Pass)
        {
            Say("");
            foreach (string reason in suite.Reasons.Take(MostReasons)) { Say($"- {reason}"); }
            if (suite.Reasons.Count > MostReasons) { Say($"- and {suite.Reasons.Count - MostReasons} more"); }
        }
        var notes = DeliveryWords.Notes(suite);
        if (notes.Count > 0)
        {
            output.Write("\n");
            foreach (string note in notes.Take(MostReasons)) { output.Write($"- {note}\n"); }
            if (notes.Count > MostReasons) { output.Write($"- and {notes.Count - MostReasons} more\n"); }
        }
        int again = suite.Runs.Count(r => r.PlayedAgain);
        if (again > 0) { Say("", $"{again} {(again == 1 ? "run was" : "runs were")} spoiled by the rig and played again."); }
        Say("", report);

        void Say(params ReadOnlySpan<string> lines)
        {
            foreach (string line in lines) { output.Write(PrintableText.Line(line) + "\n"); }
        }
    }
}
