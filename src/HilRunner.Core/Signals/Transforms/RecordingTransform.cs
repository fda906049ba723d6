using HilRunner.Core.Numerics;
using HilRunner.Core.Recordings;

namespace HilRunner.Core.Signals.Transforms;

/// <summary>Transforms applied to a whole recording, to keep the result: the same ones, with the same maths, as a scenario's play step has.</summary>
public static class RecordingTransform
{
    /// <summary>
    /// Applies transforms in their order. Every one draws from a branch of the seed that follows from its place in the list.
    /// Labels move with their samples; what the side file says stays as it was, but for the rate.
    /// </summary>
    /// <param name="recording">It is left as it is.</param>
    /// <param name="transforms">None: a copy.</param>
    /// <param name="seed">Decides noise, dropouts and random signals, and nothing else.</param>
    /// <param name="baseFolder">Recordings that are mixed in have their paths relative to it.</param>
    /// <param name="mixed">The recordings that were mixed in.</param>
    /// <exception cref="BadInputException">Every fault of every transform.</exception>
    public static Recording Apply(
        Recording recording, IReadOnlyList<MotionTransform> transforms, ulong seed, string baseFolder, out IReadOnlyList<StimulusSource> mixed)
    {
        var shelf = new RecordingShelf(baseFolder);
        var context = new TransformContext(shelf, new());
        Check(recording, transforms, context);
        var motion = new Cut(null, null).Apply(Motion.Of(recording, recording.ChannelNames), context, default);
        for (int i = 0; i < transforms.Count; i++) { motion = transforms[i].Apply(motion, context, new SeedTree(seed).Branch((ulong)i)); }
        mixed = shelf.Sources;
        return recording with
        {
            Rate = motion.Rate,
            Channels = [.. recording.ChannelNames.Select(c => motion.Channels[c])],
            Labels = [.. motion.Labels.Select(l => new LabelInterval(l.Start, l.End, l.Class))],
            Info = recording.Info.Rate is null ? recording.Info : recording.Info with { Rate = motion.Rate },
        };
    }

    private static void Check(Recording recording, IReadOnlyList<MotionTransform> transforms, TransformContext context)
    {
        var form = MotionForm.Of(recording.Name, recording, recording.ChannelNames);
        var all = new List<Fault>();
        for (int i = 0; i < transforms.Count; i++)
        {
            var faults = new StepFaults($"transform {i + 1} of {recording.Name}");
            string[] missing = [.. transforms[i].Needs(form.Channels).Except(form.Channels)];
            if (missing.Length > 0) { faults.Add($"{recording.Name} without {string.Join(", ", missing)} (it has {string.Join(", ", form.Channels)})", "every channel that is named, and all three axes where they are rotated"); }
            form = transforms[i].Check(form, context, faults);
            if (form.SampleCount > StimulusBuilder.MostSamples) { faults.Add($"{form.SampleCount} samples afterwards", $"at most {StimulusBuilder.MostSamples}", "cut the recording first"); }
            all.AddRange(faults.Faults.Where(f => !all.Contains(f)));
        }
        if (all.Count > 0) { throw new BadInputException(all); }
    }
}
