using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.Scoring;

namespace HilRunner.Cli.Runs;

/// <summary>A run as its folder has it: its manifest and the score that was stored. Nothing is scored again.</summary>
/// <param name="Score">Null: there is none yet.</param>
internal sealed record ScoredRun(string Folder, RunManifest Manifest, Score? Score)
{
    /// <summary>Digits of a motion's digest.</summary>
    private const int DigestDigits = 32;

    /// <summary>It reached its end on a healthy rig: its trials say something of the device.</summary>
    public bool Counts => Manifest.Complete && Score is { } score && !score.Health.Incomplete && score.Health.Faults.Count == 0 && score.Verdict != Verdict.Error;

    /// <summary>What was played: a digest of scenario and recordings.</summary>
    public string Motion => FileHash.Sha256OfText(string.Join(' ', Manifest.Sources.Select(s => s.Sha256).Order(StringComparer.Ordinal).Prepend(Manifest.Scenario.Sha256)))[..DigestDigits];

    /// <summary>The image's hash: of the file that was given, else as the device answered it; null: neither.</summary>
    public string? Image => Manifest.Build.Sha256 ?? Manifest.Identity.GetValueOrDefault("image");

    /// <exception cref="Core.BadInputException">A file of it is missing or damaged.</exception>
    public static ScoredRun Read(string folder)
    {
        var manifest = RunManifestFile.Read(Path.Combine(folder, RunFiles.Manifest));
        string path = Path.Combine(folder, RunFiles.Score);
        if (!PlainFile.IsThere(path)) { return new(folder, manifest, null); }
        using var stream = PlainFile.OpenRead(path);
        return new(folder, manifest, ScoreJson.Read(stream, path));
    }
}
