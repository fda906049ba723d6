using HilRunner.Core.Documents;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;

namespace HilRunner.Core.Scenarios;

/// <summary>The steps of a stimulus.</summary>
internal static class StepShapes
{
    private static Shape<StimulusTime> Time => Shapes.DurationNs("0 s", "1000 h").Select(ns => new StimulusTime(ns));
    private static Shape<TimeSpan> Length => Shapes.Duration("0 s", "1000 h", aboveMin: true);

    public static Shape<StimulusStep> Step { get; } = MapShape.Of<StimulusStep>("Steps", "a step: play, synth or prompt", keys =>
    {
        var play = keys.Optional("play", OpenDataPath.Shape("the path of a recording"), "Plays a recording; the path is relative to this file; ${HIL_OPEN_DATA}/ at its start stands for the folder of open recordings.");
        var synth = keys.Optional("synth", Synth(), "Plays a made signal: rest, or a tone on top of it.");
        var prompt = keys.Optional("prompt", Prompt(), "Asks a person to move the device: nothing is injected.");
        var from = keys.Optional("from", Time, "play: start of the part, in the recording's time. Absent: its start.");
        var to = keys.Optional("to", Time, "play: end of the part. Absent: its end.");
        var rotate = keys.Optional("rotate", Rotate(), "play: right-handed rotations about axes, in the order written.");
        var scale = keys.Default("scale", Shapes.Number(-1e6, 1e6), "1", "play: factor on all channels.");
        var noise = keys.Default("noise", Shapes.Quantity(UnitKind.Acceleration, "0 g", "100 g"), "0 g", "play: standard deviation of added white noise on the acceleration; seeded.");
        var format = keys.Optional("format", ForeignShape.Shape, "play: how to read a file that is not in the native form.");
        keys.ExactlyOne(play, synth, prompt);
        keys.Check((entries, reading) =>
        {
            if (!entries.Has(play) && (entries.Has(synth) || entries.Has(prompt)))
            {
                foreach (IKey key in new IKey[] { from, to, rotate, scale, noise, format }.Where(entries.Has))
                {
                    reading.Faults.Add(entries.NodeOf(key), $"{key.Name} without play in {entries.Node.Path}", $"{key.Name} only beside play", "remove it");
                }
            }
            if (entries.TryGet(from, out var start) && entries.TryGet(to, out var end) && end <= start)
            {
                reading.Refuse(entries.NodeOf(to), entries.NodeOf(to).Shown, $"an end after from, {start}");
            }
        });
        return (entries, _) =>
        {
            if (entries.Maybe(synth) is { } made) { return made; }
            if (entries.Maybe(prompt) is { } asked) { return asked; }
            return new PlayStep(entries.Get(play))
            {
                From = entries.MaybeValue(from),
                To = entries.MaybeValue(to),
                Rotate = entries.Maybe(rotate) ?? [],
                Scale = entries.Get(scale),
                NoiseG = entries.Get(noise),
                Format = entries.Maybe(format),
            };
        };
    });

    private static MapShape<IReadOnlyList<Rotation>> Rotate() => MapShape.Of<IReadOnlyList<Rotation>>(null, "a map of angles, such as {z: 90 deg}", keys =>
    {
        keys.Fewest = 1;
        var all = new[] { "x", "y", "z" }.Select(axis => keys.Optional(axis, Shapes.Quantity(UnitKind.Angle, "-3600 deg", "3600 deg"), $"Angle about {axis}.")).ToList();
        return (entries, _) => [.. entries.Node.Entries.Select(e => new Rotation(e.Key.Text[0], entries.Get(all.Single(k => k.Name == e.Key.Text))))];
    });

    private static MapShape<SynthStep> Synth() => MapShape.Of<SynthStep>("Made signals", "a map with rest or tone", keys =>
    {
        var rest = keys.Optional("rest", Length, "Lying still (+1 g on z) for this long.");
        var tone = keys.Optional("tone", new QuantityShape(UnitKind.Frequency, "1 mHz", "5000 kHz").Select(mHz => (double)mHz / 1000), "Frequency of a sine on top of rest.");
        var peak = keys.Optional("peak", Shapes.Quantity(UnitKind.Acceleration, "0 g", "10000 g"), "tone: amplitude, zero to peak.");
        var axis = keys.Optional("axis", new WordShape<string>(("x", "x"), ("y", "y"), ("z", "z")), "tone: its axis, x, y or z.");
        var duration = keys.Optional("for", Length, "tone: how long.");
        var name = keys.Required("class", ClassShapes.Name, "Class of this stretch of the reference.");
        keys.ExactlyOne(rest, tone);
        keys.Check((entries, reading) =>
        {
            foreach (IKey key in new IKey[] { peak, axis, duration })
            {
                if (entries.Has(tone) && !entries.Has(key)) { reading.Faults.Add(entries.Node, $"no {key.Name} in {entries.Node.Path}", $"{key.Name}: {key.Shape.Form}"); }
                if (entries.Has(rest) && !entries.Has(tone) && entries.Has(key)) { reading.Faults.Add(entries.NodeOf(key), $"{key.Name} beside rest in {entries.Node.Path}", $"{key.Name} only beside tone", "remove it"); }
            }
        });
        return (entries, _) => entries.MaybeValue(rest) is { } still
            ? new SynthStep(still, entries.Get(name), null, 0, 'z')
            : new SynthStep(entries.Get(duration), entries.Get(name), entries.Get(tone), entries.Get(peak), entries.Get(axis)[0]);
    });

    private static MapShape<PromptStep> Prompt() => MapShape.Of<PromptStep>("Prompts", "a map with say, for, class", keys =>
    {
        var say = keys.Required("say", Shapes.Text("what the person is told", "carry it across the room"), "What the person is told.");
        var duration = keys.Required("for", Length, "How long.");
        var name = keys.Required("class", ClassShapes.Name, "Class of this stretch of the reference.");
        return (entries, _) => new PromptStep(entries.Get(say), entries.Get(duration), entries.Get(name));
    });
}
