using HilRunner.Core.Files;
using HilRunner.Core.Rigs;

namespace HilRunner.Application.Benches;

/// <summary>Whether a rig's steps may erase what they erase, and what is kept of it.</summary>
internal static class Erasing
{
    /// <summary>Shows what would be erased, and asks where there is a terminal and the rig file does not allow it.</summary>
    /// <exception cref="UsageException">Not allowed: by the rig file, or by the person who was asked. Also where a step needs the image and there is none.</exception>
    public static async Task PermitAsync(IOperator person, PlayedRig on, string? image, CancellationToken stop)
    {
        Rig rig = on.Rig;
        if (image is null && Programs(rig).Any(p => p.Words.Any(w => w.Contains("{image}", StringComparison.Ordinal))))
        {
            throw new UsageException("this rig's prepare commands need the firmware image: give --image FILE");
        }
        List<ProgramStep> beyond = [.. Programs(rig).Where(p => p.Erases > rig.MayErase)];
        if (beyond.Count == 0) { return; }
        string what = Word(beyond.Max(p => p.Erases));
        string[] steps = [.. beyond.Select(p => $"erases {Word(p.Erases)}: {string.Join(' ', p.Words)}")];
        string remedy = $"say may_erase: {what} in {on.Document.Path}";
        if (!person.IsThere)
        {
            throw new UsageException(
                $"rig {rig.Name} erases {what} on the device, which its file does not allow, and there is nobody to ask: {remedy}; {string.Join("; ", steps)}");
        }
        person.Tell($"rig {rig.Name} is to be prepared:");
        foreach (string step in steps) { person.Tell($"  {step}"); }
        string? said = await person.AskAsync(
            $"{(rig.ReadBack is null ? "What is on the device now is not read back first. " : "")}Erase it? [y/N] ", stop)
            .ConfigureAwait(false);
        if (said?.Trim() is not ("y" or "Y")) { throw new UsageException($"nothing was erased, and nothing played; to allow it without being asked, {remedy}"); }
    }

    /// <summary>Reads the image on the device back before anything is erased.</summary>
    /// <exception cref="IOException">It could not be read: then nothing may be erased.</exception>
    public static void Keep(Rig rig, PrepareSteps steps, string root, DateTimeOffset now, Action<string> log)
    {
        if (rig.ReadBack is not { } readBack || Programs(rig).All(p => p.Erases == Erasure.Nothing)) { return; }
        string folder = PlainFile.CreateFolder(Path.Combine(root, "kept"));
        string path = Path.Combine(folder, $"{now.UtcDateTime:yyyyMMdd-HHmmss}-{Slug.Of(rig.Name)}.bin");
        steps.ReadBack(readBack, path);
        if (!File.Exists(path)) { throw new IOException($"read_back: the program ended well and wrote no {path}; nothing was erased"); }
        log($"kept: {path}, SHA-256 {FileHash.Sha256(path)}\n");
    }

    private static IEnumerable<ProgramStep> Programs(Rig rig) => rig.Prepare.Concat(rig.Recovery.Reset).Concat(rig.Recovery.PowerCycle).OfType<ProgramStep>();

    private static string Word(Erasure erasure) => erasure.ToString().ToLowerInvariant();
}
