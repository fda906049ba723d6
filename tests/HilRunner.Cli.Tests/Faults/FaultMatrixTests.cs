using HilRunner.Core.Links;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Device;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests.Faults;

/// <summary>Every fault in every phase of a run, on the virtual device: some in each run of the tests, all, at several instants, with HIL_LONG=1.</summary>
[Platform("Linux"), Parallelizable(ParallelScope.All)]
public class FaultMatrixTests
{
    private static readonly bool s_long = Environment.GetEnvironmentVariable("HIL_LONG") == "1";
    private static readonly string s_rig = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml"));
    private static readonly VirtualDeviceOptions s_device = ((BuiltinLinkSpec)RigFile.Read(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml")).Device.Link).Options with { Pty = false };
    private static readonly Lazy<string[]> s_undisturbed = new(() => FaultMatrix.Undisturbed(Power, s_rig));

    /// <summary>With HIL_LONG=1 84 pairs at three instants each. Else each fault in mid-run and in a sixth of the other phases, at one.</summary>
    private static IEnumerable<FaultCase> Cases()
    {
        foreach (Fault fault in Enum.GetValues<Fault>())
        {
            foreach (Phase phase in Enum.GetValues<Phase>())
            {
                if (!s_long && phase != Phase.Playout && ((int)phase + (int)fault) % 6 != 0) { continue; }
                for (int i = 0; i < (s_long ? 3 : 1); i++) { yield return new(fault, phase, 1 + i); }
            }
        }
    }

    [TestCaseSource(nameof(Cases))]
    public void TheNightComesToWhatTheTableSays(object fault) => FaultMatrix.Play((FaultCase)fault, Power, s_rig, s_undisturbed.Value);

    private static BuiltinLink Power() => BuiltinLink.Open(new(s_device), new HostClock(TimeProvider.System));
}
