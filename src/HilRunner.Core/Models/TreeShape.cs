using HilRunner.Core.Documents;

namespace HilRunner.Core.Models;

/// <summary>A node of the tree as it stands in the file: a leaf with a class, or a question with two branches.</summary>
/// <param name="At">Its place.</param>
internal sealed record TreeDraft(
    MapNode At, string? Class, double Confidence, string? Feature, int Below, int Hysteresis, TreeDraft? Then, TreeDraft? Else);

internal static class TreeShape
{
    private const int MostCounts = 1_000_000;

    public static Shape<TreeDraft> Shape { get; } = MapShape.Of<TreeDraft>(
        "Question or leaf", "a question with two branches, or a leaf such as {class: resting}", keys =>
    {
        var branch = new SelfShape<TreeDraft>(() => Shape!);
        var leaf = keys.Optional("class", ModelShape.ClassName, "A leaf: the class that is said here.");
        var confidence = keys.Default("confidence", Shapes.Share, "1", "Of a leaf: what the device says with the class.");
        var feature = keys.Optional(
            "feature", Shapes.Text("a feature such as deviation(a)", "deviation(a)", "mean(ax)", "pace(main)"),
            "A question: about which statistic of which series.");
        var below = keys.Optional(
            "below", Shapes.Integer(-MostCounts, MostCounts), "Values less than this lead to then, others to else.");
        var hysteresis = keys.Default("hysteresis", Shapes.Integer(0, MostCounts),
            "0", "How much lower the threshold is after an else (a Schmitt trigger).");
        var then = keys.Optional("then", branch, "What follows below the threshold.");
        var otherwise = keys.Optional("else", branch, "What follows otherwise.");
        keys.ExactlyOne(leaf, feature);
        keys.Check((entries, reading) =>
        {
            bool question = entries.Has(feature);
            IKey[] needed = question ? [below, then, otherwise] : [], strange = question
                ? [confidence] : [below, hysteresis, then, otherwise];
            foreach (IKey key in needed.Where(k => !entries.Has(k)))
            {
                reading.Faults.Add(entries.Node, $"no {key.Name} in {entries.Node.Path}", $"{key.Name}: {key.Shape.Form}");
            }
            if (entries.Has(leaf) == question) { return; }
            foreach (IKey key in strange.Where(entries.Has))
            {
                reading.Refuse(entries.NodeOf(key), question ? "beside a feature" : "beside a class",
                    question ? "confidence on leaves only" : "a leaf of class and confidence");
            }
        });
        return (entries, _) => new(entries.Node, entries.Maybe(leaf), entries.Get(confidence), entries.Maybe(feature),
            entries.MaybeValue(below) ?? 0, entries.Get(hysteresis), entries.Maybe(then), entries.Maybe(otherwise));
    });
}
