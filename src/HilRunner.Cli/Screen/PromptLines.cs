using HilRunner.Core.Time;
using HilRunner.Engine.Prompting;

namespace HilRunner.Cli.Screen;

/// <summary>What a person is to do now, large enough to be read from where the device is moved.</summary>
internal static class PromptLines
{
    private const int BarWidth = 30;

    /// <param name="at">Null: it has not begun.</param>
    /// <param name="marked">The onset of the one that holds was marked.</param>
    public static IEnumerable<StyledLine> Of(PromptSchedule schedule, StimulusTime? at, bool marked)
    {
        int index = at is { } time ? schedule.IndexAt(time) : -1;
        Prompt? now = index >= 0 && index < schedule.Prompts.Count ? schedule.Prompts[index] : null;
        Prompt? next = index + 1 < schedule.Prompts.Count ? schedule.Prompts[index + 1] : null;
        yield return new("", now is null ? LineStyle.Plain : LineStyle.Loud);
        yield return now is null
            ? new(at is null ? "   waiting for the device" : index < 0 ? "   GET READY" : "   DONE", LineStyle.Bold)
            : new($"   NOW   {now.Say.ToUpperInvariant()}", LineStyle.Loud);
        yield return new("", now is null ? LineStyle.Plain : LineStyle.Loud);
        if (now is not null)
        {
            long leftNs = now.End - at!.Value;
            int full = (int)Math.Clamp(BarWidth * leftNs / (now.End - now.Start), 0, BarWidth);
            yield return $"   {new string('━', full)}{new string('─', BarWidth - full)}  {Seconds(leftNs)} s left   {(marked ? "onset marked" : "SPACE when you begin")}";
        }
        else { yield return ""; }
        bool soon = next is not null && at is { } when && next.Start - when <= PromptSchedule.GetReady.Ticks * 100;
        yield return next is null ? new(now is null ? "" : "   then: that is all")
            : soon ? new($"   in {Seconds(next.Start - at!.Value)} s: {next.Say}", LineStyle.Bold)
            : new($"   then: {next.Say}", LineStyle.Quiet);
    }

    /// <summary>Whole seconds, the last one shown as 1.</summary>
    private static string Seconds(long ns) => FormattableString.Invariant($"{Math.Max(0, (ns + 999_999_999) / 1_000_000_000)}");
}
