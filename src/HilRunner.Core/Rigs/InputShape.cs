using HilRunner.Core.Documents;

namespace HilRunner.Core.Rigs;

/// <summary>The samples that the device takes.</summary>
internal static class InputShape
{
    public static Shape<InputSpec> Shape { get; } = MapShape.Of<InputSpec>("Input", "a map with rate, channels and window", keys =>
    {
        var rate = keys.Required("rate", Shapes.Rate, "Sample rate.");
        var channels = keys.Required("channels", Channels(), "Channels in the order of the device.");
        var window = keys.Default("window", Shapes.Integer(1, 100_000), "200",
            "Samples that may be on the way, sent but not yet consumed, where the device gives credit; never more than half of what the credit's number counts before it begins anew.");
        return (entries, _) => new InputSpec(entries.Get(rate), entries.Get(channels)) { Window = entries.Get(window) };
    });

    private static MapShape<IReadOnlyList<InputChannel>> Channels() =>
        MapShape.Of<IReadOnlyList<InputChannel>>(null, "a map of channels, such as {ax: {count: 1 mg, range: 8 g}}", keys =>
        {
            keys.Fewest = 1;
            var all = MessageShapes.Channels.Select(name => keys.Optional(name, Channel(name), name[0] == 'a'
                ? $"Acceleration along {name[1]} (specific force: +1 g upwards at rest)." : $"Angular rate about {name[1]}, right-handed.")).ToList();
            return (entries, _) => [.. entries.Node.Entries.Select(e => entries.Get(all.Single(k => k.Name == e.Key.Text)))];
        });

    private static MapShape<InputChannel> Channel(string name) => MapShape.Of<InputChannel>(null, "a map with count and range", keys =>
    {
        bool acceleration = name[0] == 'a';
        var (kind, zero, most) = acceleration ? (UnitKind.Acceleration, "0 g", "100000 g") : (UnitKind.AngularRate, "0 dps", "1000000 dps");
        var count = keys.Required("count", Shapes.Quantity(kind, zero, most, aboveMin: true), acceleration ? "Acceleration of one count, such as 1 mg." : "Angular rate of one count, such as 0.1 dps.");
        var range = keys.Required("range", Shapes.Quantity(kind, zero, most, aboveMin: true), acceleration ? "Full scale ±, such as 8 g." : "Full scale ±, such as 1000 dps.");
        return (entries, reading) =>
        {
            double counts = entries.Get(range) / entries.Get(count);
            if (counts is < 1 or > int.MaxValue)
            {
                reading.Refuse(entries.NodeOf(range), FormattableString.Invariant($"{counts:0.###} counts"), "a range of 1 to 2147483647 counts");
            }
            return new InputChannel(name, entries.Get(count), entries.Get(range));
        };
    });
}
