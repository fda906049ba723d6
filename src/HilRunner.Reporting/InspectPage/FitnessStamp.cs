using HilRunner.Inspection.Results;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.InspectPage;

/// <summary>How far a recording may be trusted, told apart by word and shape, never by colour alone.</summary>
internal static class FitnessStamp
{
    public static Markup Of(Fitness fitness) => Markup.Of($"<span class=\"verdict {Css(fitness)}\">{FitnessWords.Of(fitness)}</span>");

    /// <summary>In a table.</summary>
    public static Markup Small(Fitness? fitness) => fitness is { } f
        ? Markup.Of($"<span class=\"outcome\">{FitnessWords.Of(f)}</span>")
        : Markup.Of($"<span class=\"quiet\">not judged</span>");

    public static string Row(Fitness? fitness) => fitness switch { Fitness.Unfit => "bad", Fitness.WithCare => "uncounted", _ => "" };

    private static string Css(Fitness fitness) => fitness switch { Fitness.Fit => "is-pass", Fitness.WithCare => "is-inconc", _ => "is-fail" };
}
