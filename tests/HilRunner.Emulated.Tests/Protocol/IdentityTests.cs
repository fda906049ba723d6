using System.Security.Cryptography;
using HilRunner.Emulated.Tests.Bench;

namespace HilRunner.Emulated.Tests.Protocol;

/// <summary>An image says which one it is: the same build the same, another build another.</summary>
public sealed class IdentityTests
{
    [Test]
    public void Every_image_says_another_hash_and_the_same_build_the_same()
    {
        ImageSpec[] specs =
        [
            new(), new() { Version = "1.0.1" }, new() { Model = "activity" }, new() { ThinkMs = 20 },
            .. Defects.All.Select(d => new ImageSpec { Defect = d }),
        ];
        string[] said = [.. specs.Select(s => Identity(Images.Get(s)))];
        string again = Images.Build(new(), Path.Combine(Images.Folder, "again.elf"));
        Assert.Multiple(() =>
        {
            Assert.That(said, Is.Unique);
            Assert.That(said.Select(s => s.Split(' ')[3]), Is.Unique, "by the hash alone");
            Assert.That(said[1], Does.StartWith("id parcel-tag 1.0.1 "));
            Assert.That(said[2], Does.StartWith("id activity 1.0.0 "));
            Assert.That(Identity(again), Is.EqualTo(said[0]));
            Assert.That(SHA256.HashData(File.ReadAllBytes(again)), Is.EqualTo(SHA256.HashData(File.ReadAllBytes(Images.Get(new())))), "the same bytes");
        });
    }

    private static string Identity(string image)
    {
        using var device = new Emulator(image);
        var talk = new LineTalk(device.Link);
        talk.WaitForBanner();
        return talk.Ask("id\n", "id ");
    }
}
