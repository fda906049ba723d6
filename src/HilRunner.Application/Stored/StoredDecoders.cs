using System.Text.Json;
using HilRunner.Core;
using HilRunner.Core.Files;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;

namespace HilRunner.Application.Stored;

/// <summary>
/// What decodes the capture of a stored run: its rig's description, or, where an adapter does, what the adapter said of it.
/// </summary>
internal static class StoredDecoders
{
    /// <exception cref="BadInputException">
    /// An adapter's messages were not kept, or are of another capture, and the program may not be started.
    /// </exception>
    public static IDecoderSource Of(JobContext context, Rig rig, RunManifest run, string folder, AdapterLeave leave)
    {
        if (rig.Device.Framing.Kind != FramingKind.Adapter) { return context.Formats.Create(rig.Device); }
        string capture = Path.Combine(folder, RunFiles.Capture), messages = Path.Combine(folder, RunFiles.Messages);
        if (!PlainFile.IsThere(capture)) { return context.Formats.Kept(rig.Device, null, ""); }
        string hash = context.Captures.Sha256(capture);
        if (leave.Asked || !PlainFile.IsThere(messages))
        {
            if (!leave.Allows(run)) { throw Lacking(folder, rig); }
            if (leave.Asked)
            {
                context.Operator.Warn($"{folder}: its run.yaml names an adapter, which is started now: {Shown(rig)}");
            }
            Rig trusted = leave.Given(run) is { } given ? RigFile.Parse(given.Text, given.Path) : rig;
            using var reader = context.Captures.Open(capture);
            AtomicFile.Write(messages, stream => context.Formats.Keep(trusted.Device, reader, hash, stream));
        }
        return context.Formats.Kept(rig.Device, messages, hash);
    }

    /// <summary>
    /// Whether each run below a folder can be reviewed, so that a night is not played to be held against runs that cannot.
    /// </summary>
    /// <exception cref="BadInputException">One needs its adapter, which may not be started.</exception>
    public static void RefuseLacking(string path, AdapterLeave leave)
    {
        foreach (string folder in RunFolders.Under([path]))
        {
            if (PlainFile.IsThere(Path.Combine(folder, RunFiles.Messages))) { continue; }
            var run = RunManifestFile.Read(Path.Combine(folder, RunFiles.Manifest));
            if (!run.Rig.Text.Contains("adapter", StringComparison.Ordinal)
                || leave.Allows(run) || !PlainFile.IsThere(Path.Combine(folder, RunFiles.Capture)))
            {
                continue;
            }
            Rig rig = RigFile.Parse(run.Rig.Text, run.Rig.Path);
            if (rig.Device.Framing.Kind == FramingKind.Adapter) { throw Lacking(folder, rig); }
        }
    }

    /// <summary>Program and arguments as a list in JSON, in printable characters alone.</summary>
    private static string Shown(Rig rig) =>
        JsonSerializer.Serialize<string[]>([rig.Device.Framing.Program ?? "", .. rig.Device.Framing.Arguments]);

    private static BadInputException Lacking(string folder, Rig rig) => new([new(
        folder, 0, 0,
        $"a run that an adapter decodes, without {RunFiles.Messages}: what the adapter said was not kept (the run is an older one, or was cut off)",
        "its messages",
        $"to have the program that its run.yaml names started, {Shown(rig)}, look at it and say hil score {folder} --run-adapter; until then the stored score stays as it is")]);
}
