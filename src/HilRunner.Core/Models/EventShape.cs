using HilRunner.Core.Documents;

namespace HilRunner.Core.Models;

/// <summary>A rule for a momentary event as it stands in the file: levels in g, lengths in nanoseconds.</summary>
internal sealed record EventDraft(
    Entries At, string Class, double Confidence, double BelowG, decimal ForNs, double AboveG, decimal WithinNs, decimal QuietNs);

internal static class EventShape
{
    public static Shape<EventDraft> Shape { get; } = MapShape.Of<EventDraft>("Event rule", "an event rule", keys =>
    {
        var name = keys.Required("class", ModelShape.ClassName, "What is reported.");
        var confidence = keys.Default("confidence", Shapes.Share, "1", "What the device says with it.");
        var below = keys.Required("below", ModelShape.Level, "Free fall: |a| stays below this …");
        var length = keys.Required("for", ModelShape.Length, "… for at least this long.");
        var above = keys.Required("above", ModelShape.Level, "Impact: |a| rises above this …");
        var within = keys.Required("within", ModelShape.Length, "… this soon after the last low sample.");
        var quiet = keys.Required(
            "quiet", ModelShape.Length, "After an event the rule rests this long: a bounce is no second event.");
        keys.Check((entries, reading) =>
        {
            if (entries.TryGet(below, out double low) && entries.TryGet(above, out double high) && high < low)
            {
                reading.Refuse(entries.NodeOf(above), "less than below", "an impact above the free fall");
            }
        });
        return (entries, _) => new(entries, entries.Get(name), entries.Get(confidence), entries.Get(below), entries.Get(length),
            entries.Get(above), entries.Get(within), entries.Get(quiet));
    });

    /// <summary>Where a key of the rule stands.</summary>
    public static Node NodeOf(this EventDraft rule, string key) => rule.At.Node[key] ?? rule.At.Node;
}
