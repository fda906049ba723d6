using System.Globalization;
using HilRunner.Application.Reproducing;
using HilRunner.Reporting;

namespace HilRunner.Cli.Screen;

/// <summary>A case on the terminal: its answer first, then what speaks for it, then where it is.</summary>
internal static class CaseText
{
    public static void Print(Case item, string folder, bool quiet)
    {
        string verdict = item.Culprit is { } culprit ? CaseWords.Of(culprit) : "under way";
        Line($"{verdict}: {item.Complaint}");
        if (!quiet)
        {
            if (item.Culprit is { } c) { Line($"  {CaseWords.Meaning(c)}"); }
            foreach (string evidence in item.Evidence) { Line($"  {evidence}"); }
            foreach (var plays in item.Plays) { Line(string.Create(CultureInfo.InvariantCulture, $"  {plays.How}: {plays.Shown} of {plays.Played}")); }
            if (item.Shrink is { } s) { Line($"  {CaseWords.Seconds(s.ToSeconds)} are enough to show it, of {CaseWords.Seconds(s.FromSeconds)} (on {s.On}, {s.Tried} stretches, {s.Plays} plays){(s.Stopped is { } why ? $"; ended {why}" : "")}"); }
            foreach (string plain in item.Shrink?.Simplified ?? []) { Line($"  {plain}"); }
            if (item.Bisection is { } b)
            {
                string or = b.OrOneOf.Count > 0 ? $", or {string.Join(", ", b.OrOneOf)}" : "";
                Line(string.Create(CultureInfo.InvariantCulture, $"  {(b.Settled ? "first bad image" : "not settled; most likely the first bad image")}: {b.FirstBad}{or} (probability {b.Confidence:0.000}, {b.Plays} plays{(b.FloorPlays is { } f ? $", floor {f:0.0}" : "")}){(b.Stopped is { } ended ? $"; ended {ended}" : "")}"));
                foreach (var image in b.Images.Where(i => i.LeftOut is not null)) { Line($"  left out: {image.Name}: {image.LeftOut}"); }
            }
            if (item.Kept is { } kept) { Line($"  kept: {Path.Combine(folder, kept.Folder, kept.Scenario)}: fails on {kept.Fails}; {(kept.Passes is { } passes ? $"passes on {passes}" : "nothing passes it yet")}"); }
            foreach (string note in item.Notes) { Line($"  note: {note}"); }
        }
        Line(Path.Combine(folder, ReproduceJob.Page));
    }

    private static void Line(string text) => Console.Out.WriteLine(text);
}
