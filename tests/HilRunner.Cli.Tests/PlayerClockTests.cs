using System.Globalization;
using HilRunner.Core.Capture;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Engine.Directing;
using HilRunner.Engine.Plans;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>Parent and player stamp on one clock: keys and samples meet in a recording even where the system's clock was set between the starts of the two.</summary>
public class PlayerClockTests
{
    [Test]
    public async Task ThePlayerNamesMomentsByTheParentsAnchor()
    {
        // A parent that began in another century: its anchor is far from what the player's own would be.
        const long anchor = 4_102_444_800_000_000_000;
        using var folder = TestPaths.NewFolder();
        string path = Path.Combine(TestPaths.Root, "rigs", "virtual.yaml"), text = File.ReadAllText(path);
        var rig = RigFile.Parse(text, path);
        using var format = Composition.Context.Formats.Create(rig.Device);
        var clock = new HostClock(TimeProvider.System);
        using var player = PlayerProcess.Start(Composition.Context.PlayerCommandLine, new(path, text, null, anchor));
        long before = clock.Now.Ns;
        var (cause, message) = await player.PlayAsync(PlanBuilder.Listen(rig.Device, format, TimeSpan.Zero, TimeSpan.FromSeconds(1), needsMeasured: false, folder.Path), default);
        long after = clock.Now.Ns;
        Assert.That(cause, Is.EqualTo("completed"), message);
        using var capture = Composition.Context.Captures.Open(folder.File(RunFiles.Capture));
        long? origin = null;
        while (capture.TryRead(out var record))
        {
            if (record.Event is { Name: RunEventNames.Origin } began) { origin = long.Parse(began.Details["unix_ns"], CultureInfo.InvariantCulture); }
        }
        Assert.That(origin! - anchor, Is.InRange(before, after));
    }

    /// <summary>The parent tells it as the run's trouble: a sentence, and no trace of calls.</summary>
    [Test]
    public async Task APlayerThatCannotBeginSaysWhy()
    {
        using var folder = TestPaths.NewFolder();
        string path = Path.Combine(TestPaths.Root, "rigs", "virtual.yaml");
        string text = File.ReadAllText(path).Replace("../scenarios/parcel/model.yaml", "no-such-model.yaml", StringComparison.Ordinal);
        var rig = RigFile.Parse(text, path);
        using var format = Composition.Context.Formats.Create(rig.Device);
        using var player = PlayerProcess.Start(Composition.Context.PlayerCommandLine, new(path, text, null, 0));
        var (cause, message) = await player.PlayAsync(
            PlanBuilder.Listen(rig.Device, format, TimeSpan.Zero, TimeSpan.FromSeconds(1), needsMeasured: false, folder.Path), default);
        Assert.That(cause, Is.EqualTo(Engine.Playing.EndCause.PlayerGone));
        Assert.That(message, Does.Contain("exit code 3").And.Contain("no-such-model.yaml").And.Not.Contain("   at "));
    }
}
