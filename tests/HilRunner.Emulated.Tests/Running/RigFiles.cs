using HilRunner.Emulated.Tests.Bench;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Running;

/// <summary>rigs/emulated.yaml with another image, built already.</summary>
internal static class RigFiles
{
    public static string For(string image)
    {
        string text = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "emulated.yaml"));
        const string link = "program: emulated/run, args: [parcel-lines.elf]";
        int prepare = text.IndexOf("prepare:", StringComparison.Ordinal), after = text.IndexOf("before_each:", StringComparison.Ordinal);
        Assert.That(text, Does.Contain(link), "rigs/emulated.yaml starts the emulator in another way now");
        Assert.That(after, Is.GreaterThan(prepare).And.GreaterThan(0), "rigs/emulated.yaml prepares in another way now");
        text = text[..prepare] + text[after..];
        string path = Path.ChangeExtension(image, ".rig.yaml");
        File.WriteAllText(path, text.Replace(link, $"program: {Emulator.RunScript}, args: [{image}]", StringComparison.Ordinal));
        return path;
    }
}
