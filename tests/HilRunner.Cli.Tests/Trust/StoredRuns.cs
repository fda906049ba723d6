using HilRunner.Testing;

namespace HilRunner.Cli.Tests.Trust;

/// <summary>
/// Two stored batches of one run each, played once: one that an adapter program decodes, one that the rig's description does.
/// Tests work on copies.
/// </summary>
internal sealed class StoredRuns : IDisposable
{
    private static readonly Lazy<StoredRuns> s_shared = new(() => new());
    private readonly TemporaryFolder _folder = new("trust");

    private StoredRuns()
    {
        Adapter = Play("adapted", AdapterRig());
        Plain = Play("plain", "rigs/virtual.yaml");
    }

    public static StoredRuns Shared => s_shared.Value;

    /// <summary>Folder of the batch whose run an adapter decodes.</summary>
    public string Adapter { get; }

    /// <summary>Folder of the other.</summary>
    public string Plain { get; }

    /// <summary>How often the adapter was started.</summary>
    public int Started => File.ReadAllLines(_folder.File("started")).Length;

    public static void Discard()
    {
        if (s_shared.IsValueCreated) { s_shared.Value.Dispose(); }
    }

    public void Dispose() => _folder.Dispose();

    /// <returns>The copied run.</returns>
    public static string CopyRun(string batch, TemporaryFolder to)
    {
        string copy = to.File("batch");
        foreach (string file in Directory.GetFiles(batch, "*", SearchOption.AllDirectories))
        {
            string target = Path.Combine(copy, Path.GetRelativePath(batch, file));
            Directory.CreateDirectory(Path.GetDirectoryName(target)!);
            File.Copy(file, target);
        }
        return Directory.GetDirectories(copy).Single();
    }

    private string Play(string name, string rig)
    {
        var played = Hil.Run("run", "scenarios/parcel/belt.yaml", "--rig", rig, "--out", _folder.File(name), "--quiet");
        Assert.That(played.Code, Is.Zero, played.Output + played.Errors);
        return Directory.GetDirectories(_folder.File(name)).Single();
    }

    private string AdapterRig()
    {
        string program = Path.Combine(TestPaths.Root, "tests/HilRunner.Cli.Tests/Trust/lines_adapter.py"),
            rig = _folder.File("adapted.yaml");
        File.WriteAllText(rig, """
            rig: adapted
            device:
              link: {builtin: {model: MODEL, protocol: lines, credit_window: 256}}
              on_open: {wait: 2 s, until: booted}
              framing: {adapter: {program: python3, args: ["PROGRAM", "STARTED"]}}
              hears: {begin: begin, sample: "s {n} {ax} {ay} {az}", end: end}
              says:
                decisions: 'c (?<n>\d+) (?<class>\w+)'
                credit: 'k (?<n>\d+)'
                booted: 'boot (?<version>\S+)'
              classes: {resting: resting, carried: carried, conveyed: conveyed, dropped: dropped}
              input: {rate: 100 Hz, channels: {ax: {count: 1 mg, range: 8 g}, ay: {count: 1 mg, range: 8 g}, az: {count: 1 mg, range: 8 g}}}
              quiet: 100 ms
              clock: {ask: "t {token}", answer: 't (?<token>\d+) (?<t_us>\d+)', bits: 32}
            health: {late: 50 ms, lost: 0, lines_unknown: 100, clock: 5 ms}
            """.Replace("MODEL", Path.Combine(TestPaths.Root, "scenarios/parcel/model.yaml")).Replace("PROGRAM", program).Replace("STARTED", _folder.File("started")));
        return rig;
    }
}

/// <summary>Removes what the fixtures of this folder share.</summary>
[SetUpFixture]
public class StoredRunsRemoved
{
    [OneTimeTearDown]
    public void Remove() => StoredRuns.Discard();
}
