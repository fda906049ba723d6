using HilRunner.Cli.Tests.Faults;
using HilRunner.Core.Time;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Testing;
using HilRunner.Transport.Links;

namespace HilRunner.Emulated.Tests.Running;

/// <summary>The faults that touch the device, on compiled firmware; every fault in every phase with HIL_LONG=1. The rest of the table: FaultMatrixTests of the command line.</summary>
[Parallelizable(ParallelScope.All)]
public sealed class FaultMatrixTests
{
    private static readonly bool s_long = Environment.GetEnvironmentVariable("HIL_LONG") == "1";
    private static readonly string s_rig = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "emulated.yaml"));
    private static readonly Lazy<string> s_image = new(() => Images.Get(new()));
    private static readonly Lazy<string[]> s_undisturbed = new(() => FaultMatrix.Undisturbed(Power, s_rig));

    private static IEnumerable<FaultCase> Cases() => s_long
        ? Enum.GetValues<Fault>().SelectMany(fault => Enum.GetValues<Phase>().Select(phase => new FaultCase(fault, phase, 1)))
        : [new(Fault.Unplug, Phase.Playout, 1), new(Fault.Reset, Phase.Playout, 1), new(Fault.Hang, Phase.Playout, 1), new(Fault.NoCredit, Phase.Sync, 1), new(Fault.Kill, Phase.Drain, 1)];

    [TestCaseSource(nameof(Cases))]
    public void The_night_comes_to_what_the_table_says(object fault) => FaultMatrix.Play((FaultCase)fault, Power, s_rig, s_undisturbed.Value);

    private static ProcessLink Power() => ProcessLink.Run(new HostClock(TimeProvider.System), Emulator.RunScript, [s_image.Value]);
}
