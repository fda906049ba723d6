using HilRunner.Core.Documents;
using HilRunner.Core.Time;

namespace HilRunner.Core.Models;

/// <summary>What a device is fed: its rate, and the channels in the order of the file.</summary>
internal sealed record InputDraft(SampleRate Rate, IReadOnlyList<ModelChannel> Channels);

/// <summary>A model file before its parts are held against each other.</summary>
internal sealed record ModelDraft(
    string Name, IReadOnlyList<string> Classes, InputDraft Input, decimal WindowNs,
    decimal HopNs, TreeDraft Tree, Named<int>? Confirm, IReadOnlyList<EventDraft> Events);

/// <summary>The whole model file.</summary>
internal static class ModelShape
{
    private const int MostClasses = 64, MostConfirm = 1000, MostEvents = 8;
    private const string ClassPattern = "^[A-Za-z0-9_]{1,200}$";

    public static Shape<string> ClassName { get; } = Shapes.Text("a class name of letters, digits and _", "resting", "carried")
        .Select((name, node, reading) =>
    {
        if (name.Any(c => !char.IsAsciiLetterOrDigit(c) && c != '_'))
        {
            reading.Refuse(node, node.Shown, "a name of letters, digits and _");
        }
        return name;
    });

    /// <summary>In g.</summary>
    public static Shape<double> Level { get; } = Shapes.Quantity(UnitKind.Acceleration, "0 g", "10000 g", aboveMin: true);

    /// <summary>In nanoseconds; a whole number of samples is asked for where the rate is known.</summary>
    public static Shape<decimal> Length { get; } = new QuantityShape(UnitKind.Duration, "0 s", "10000 h");

    private static readonly Shape<InputDraft> s_input =
        MapShape.Of<InputDraft>("Input of a model", "a map with rate and channels", keys =>
    {
        var rate = keys.Required("rate", Shapes.Rate, "The rate at which the device is fed.");
        var channels = keys.Required("channels", Channels(),
            "What one count of each channel is worth, in the order in which the device is fed. One scale for ax, ay and az.");
        return (entries, _) => new(entries.Get(rate), entries.Get(channels));
    });

    private static readonly Shape<Named<int>> s_confirm = new NamedShape<int>(
        "a map of classes and numbers of windows, such as {resting: 3}",
        "CLASS", ClassPattern, Shapes.Integer(1, MostConfirm), max: MostClasses);

    public static Shape<ModelDraft> Shape { get; } = MapShape.Of<ModelDraft>("Model file", "a model", keys =>
    {
        var name = keys.Required(
            "model", Shapes.Text("a word: the device's product name", "parcel-tag"), "The device's product name.");
        var classes = keys.Required("classes", new ListShape<string>("a list of class names", ClassName, 1, MostClasses),
            "Place in the list = code in binary messages.");
        var input = keys.Required("input", s_input, "What the device is fed.");
        var window = keys.Required("window", Length, $"Whole number of samples, 2 to {MotionModel.MaxWindow}.");
        var hop = keys.Required("hop", Length, "From one window to the next: whole number of samples, at most a window.");
        var tree = keys.Required("tree", TreeShape.Shape,
            $"The decision tree: at most {ModelFileReader.MostLevels} levels and {ModelFileReader.MostNodes} nodes.");
        var confirm = keys.Optional(
            "confirm", s_confirm, "Windows running before a change to a class is reported; 1 for a class that is not named.");
        var events = keys.Optional("events", new ListShape<EventDraft>("a list of event rules", EventShape.Shape, 1, MostEvents),
            "Rules for momentary events: a free fall and its impact.");
        return (entries, _) =>
            new(entries.Get(name), entries.Get(classes), entries.Get(input), entries.Get(window), entries.Get(hop),
            entries.Get(tree), entries.Maybe(confirm), entries.Maybe(events) ?? []);
    });

    private static MapShape<IReadOnlyList<ModelChannel>> Channels() =>
        MapShape.Of<IReadOnlyList<ModelChannel>>(null, "a map such as {ax: 1 mg, ay: 1 mg, az: 1 mg}", keys =>
    {
        var turning = Shapes.Quantity(UnitKind.AngularRate, "0 dps", "100000 dps", aboveMin: true);
        Key<double>[] channels =
        [
            .. new[] { "ax", "ay", "az" }.Select(c => keys.Required(c, Level, $"Acceleration of one count of {c}.")),
            .. new[] { "gx", "gy", "gz" }.Select(c => keys.Optional(c, turning, $"Turning rate of one count of {c}.")),
        ];
        return (entries, reading) =>
        {
            if (channels[..3].Select(entries.Get).Distinct().Count() > 1)
            {
                reading.Refuse(
                    entries.Node, "ax, ay and az with different counts", "one scale for all three", "|a| is made of all three");
            }
            return [.. entries.Node.Entries.Select(
                e => new ModelChannel(e.Key.Text, entries.Get(channels.First(c => c.Name == e.Key.Text))))];
        };
    });
}
