using HilRunner.Core.Documents;
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
        var synth = keys.Optional("synth", SynthShapes.Step, "Plays a made signal on top of rest.");
        var prompt = keys.Optional("prompt", Prompt(), "Asks a person to move the device: nothing is injected.");
        var from = keys.Optional("from", Time, "play: start of the part, in the recording's time. Absent: its start.");
        var to = keys.Optional("to", Time, "play: end of the part. Absent: its end.");
        var mirror = keys.Optional("mirror", TransformShapes.Mirror, "play: axes that are mirrored: left becomes right.");
        var rotate = keys.Optional("rotate", TransformShapes.Rotate, "play: right-handed rotations about axes, in the order written.");
        var scale = keys.Default("scale", TransformShapes.Scale, "1", "play: factor on all channels, or a map of channels and factors.");
        var offset = keys.Optional("offset", TransformShapes.Offset, "play: added to channels.");
        var stretch = keys.Default("stretch", TransformShapes.Stretch, "1", "play: factor on the time it takes; 2 is half as fast. Labels move along.");
        var mix = keys.Optional("mix", TransformShapes.Mix, "play: adds other motion.");
        var filter = keys.Optional("filter", TransformShapes.Filter, "play: a Butterworth filter on all channels.");
        var noise = keys.Default("noise", TransformShapes.Noise, "0 g", "play: standard deviation of added white noise on the acceleration; seeded.");
        var dropouts = keys.Optional("dropouts", TransformShapes.Dropouts, "play: gaps in the data; seeded.");
        var format = keys.Optional("format", ForeignShape.Shape, "play: how to read a file that is not in the native form.");
        keys.ExactlyOne(play, synth, prompt);
        keys.Check((entries, reading) =>
        {
            if (!entries.Has(play) && (entries.Has(synth) || entries.Has(prompt)))
            {
                foreach (IKey key in new IKey[] { from, to, mirror, rotate, scale, offset, stretch, mix, filter, noise, dropouts, format }.Where(entries.Has))
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
                Mirror = entries.Maybe(mirror)?.Axes ?? [],
                Rotate = entries.Maybe(rotate)?.Rotations ?? [],
                Scale = entries.Get(scale).Factor,
                ChannelScales = entries.Get(scale).Channels,
                Offsets = entries.Maybe(offset)?.Channels ?? new Dictionary<string, double>(),
                StretchPermille = entries.Get(stretch).StretchPermille,
                Mix = entries.Maybe(mix),
                Filter = entries.Maybe(filter),
                NoiseG = entries.Get(noise).DeviationG,
                Dropouts = entries.Maybe(dropouts),
                Format = entries.Maybe(format),
            };
        };
    });

    private static MapShape<PromptStep> Prompt() => MapShape.Of<PromptStep>("Prompts", "a map with say, for, class", keys =>
    {
        var say = keys.Required("say", Shapes.Text("what the person is told", "carry it across the room"), "What the person is told.");
        var duration = keys.Required("for", Length, "How long.");
        var name = keys.Required("class", ClassNames.Name, "Class of this stretch of the reference.");
        return (entries, _) => new PromptStep(entries.Get(say), entries.Get(duration), entries.Get(name));
    });
}
